"""Readings of a batch as evidence: seconds since drying began, thinned to what the evidence layer needs."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from django.utils import timezone

from drystow.numerics import Array
from drystow.web.batches.models import Batch
from drystow.web.readings.models import Channel
from drystow.web.readings.storage import course

if TYPE_CHECKING:
    from drystow.evidence.observed import PowerReading, PressureReading, ProbeReading

MOST = 60
"""Readings of one kind (and tray): more say nothing new, the sensor's error is common to all of them."""
SHORTEST = 600.0  # stretch that becomes one reading, its median [s]
FRESH = 1200.0  # a product temperature is compared with a shelf reading not further away [s]
VACUUM = 1000.0  # drying begins when the chamber falls below this and stays [Pa]


def evidence_of(
    batch: Batch,
) -> "tuple[tuple[PressureReading, ...], tuple[ProbeReading, ...], tuple[PowerReading, ...]]":
    """Return the pressures, the product temperatures against the shelf, and the powers measured during a batch.

    Times count from when drying began: when the measured pressure fell, else when the forecast says. Every stretch of
    at least ten minutes is one reading, its median, so that a spike of a sensor counts for nothing.

    batch: that was started; of any other nothing is known
    """
    from drystow.evidence.observed import PowerReading, PressureReading, ProbeReading

    if batch.started_at is None:
        return (), (), ()
    channels = list(Channel.objects.kept().filter(dryer=batch.dryer_id))
    start, end = batch.started_at, batch.ended_at or timezone.now()
    pressure = _of(channels, "pressure", start, end)
    began = (drying_began(*pressure) if len(pressure[0]) else None) or _forecast_start(batch)
    if began is None:
        return (), (), ()
    shelf, power = (_of(channels, name, start, end) for name in ("shelf", "power"))
    pressures = tuple(PressureReading(time, value) for time, value in _thin(*pressure, began))
    powers = tuple(PowerReading(time, value) for time, value in _thin(*power, began))
    probes = []
    for tray in sorted({channel.tray for channel in channels if channel.quantity == "product"}):
        product = _of([one for one in channels if one.tray == tray], "product", start, end)
        for time, value in _thin(*product, began):
            against = _shelf_at(*shelf, began + time)
            if against is not None:
                probes.append(ProbeReading(tray, time, value, against))
    return pressures, tuple(probes), powers


def drying_began(moments: Array, pressures: Array) -> float | None:
    """Return when the pressure fell below the vacuum of drying for good, None when it did not while it was measured.

    moments: [s since 1970]
    pressures: [Pa]
    """
    low = pressures < VACUUM
    if not low.any() or low[0]:
        return None
    first = int(np.argmax(low))
    return float(moments[first])


def _of(channels: Sequence[Channel], quantity: str, start: datetime, end: datetime) -> tuple[Array, Array]:
    """Return moments [s since 1970] and values of the channel of a quantity that has most readings in a span."""
    span = (round(start.timestamp() * 1000), round(end.timestamp() * 1000))
    found = [course(channel, *span) for channel in channels if channel.quantity == quantity]
    if not found:
        return np.zeros(0), np.zeros(0)
    moments, values = max(found, key=lambda pair: len(pair[0]))
    return moments / 1000.0, values


def _thin(moments: Array, values: Array, began: float) -> list[tuple[float, float]]:
    """Return the medians of stretches: time since drying began [s], value."""
    since = moments - began
    drying = since >= 0.0
    since, values = since[drying], values[drying]
    if not len(since):
        return []
    length = max(SHORTEST, float(since[-1] - since[0]) / MOST * 1.0001)
    stretch = ((since - since[0]) // length).astype(int)
    edges = np.flatnonzero(np.diff(stretch)) + 1
    parts = zip(np.split(since, edges), np.split(values, edges), strict=True)
    return [(float(np.median(time)), float(np.median(value))) for time, value in parts]


def _shelf_at(moments: Array, values: Array, moment: float) -> float | None:
    if not len(moments) or np.min(np.abs(moments - moment)) > FRESH:
        return None
    return float(np.interp(moment, moments, values))


def _forecast_start(batch: Batch) -> float | None:
    hours = batch.prediction.get("drying_start_h") if batch.prediction else None
    if hours is None or batch.started_at is None:
        return None
    return (batch.started_at + timedelta(hours=float(hours))).timestamp()
