"""Readings of a batch as evidence: seconds since drying began, thinned to what the evidence layer needs."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from django.db.models import OuterRef, QuerySet, Subquery
from django.utils import timezone

from drystow.numerics import Array
from drystow.web.batches.models import Batch
from drystow.web.readings.models import Channel, Reading
from drystow.web.readings.storage import course

if TYPE_CHECKING:
    from drystow.evidence.dryness.observed import PowerReading, PressureReading, ProbeReading

MOST = 60
"""Readings of one kind (and tray): more say nothing new, the sensor's error is common to all of them."""
TEN_MINUTES = 600_000  # [ms]
SHORTEST = 600.0  # stretch that becomes one reading, its median [s]
FRESH = 1200.0  # a product temperature is compared with a shelf reading not further away [s]
VACUUM = 1000.0  # drying begins when the chamber falls below this and stays [Pa]


def evidence_of(
    batch: Batch, began: datetime | None = None
) -> "tuple[tuple[PressureReading, ...], tuple[ProbeReading, ...], tuple[PowerReading, ...]]":
    """Return the pressures, the product temperatures against the shelf, and the powers measured during a batch.

    Times count from when drying began: when the measured pressure fell, else when the forecast says. Every stretch of
    at least ten minutes is one reading, its median, so that a spike of a sensor counts for nothing.

    batch: that was started; of any other nothing is known
    began: when drying began, for those who know
    """
    from drystow.evidence.dryness.observed import PowerReading, PressureReading, ProbeReading

    if batch.started_at is None:
        return (), (), ()
    channels = list(Channel.objects.kept().filter(dryer=batch.dryer_id))
    start, end = batch.started_at, batch.ended_at or timezone.now()
    pressure = _of(channels, "pressure", start, end)
    known = began or measured_start(batch) or _forecast_start(batch)
    if known is None:
        return (), (), ()
    zero = known.timestamp()
    shelf, power = (_of(channels, name, start, end) for name in ("shelf", "power"))
    pressures = tuple(PressureReading(time, value) for time, value in _thin(*pressure, zero))
    powers = tuple(PowerReading(time, value) for time, value in _thin(*power, zero))
    probes = []
    for tray in sorted({channel.tray for channel in channels if channel.quantity == "product"}):
        product = _of([one for one in channels if one.tray == tray], "product", start, end)
        for time, value in _thin(*product, zero):
            against = _shelf_at(*shelf, zero + time)
            if against is not None:
                probes.append(ProbeReading(tray, time, value, against))
    return pressures, tuple(probes), powers


def measured_start(batch: Batch) -> datetime | None:
    """Return when the measured pressure fell below the vacuum of drying, None when it did not while it was measured."""
    inside = _inside(batch)
    if inside is None:
        return None
    low = inside.filter(value__lt=VACUUM)
    ends = (
        Channel.objects.kept()
        .filter(dryer=batch.dryer_id, quantity="pressure")
        .annotate(first=Subquery(inside.values("value")[:1]), low=Subquery(low.values("at_ms")[:1]))
    )
    found = [at for first, at in ends.values_list("first", "low") if at is not None and first >= VACUUM]
    return datetime.fromtimestamp(min(found) / 1000.0, UTC) if found else None


def reading_marks(batch: Batch) -> tuple[tuple[int, int, int], ...]:
    """Return per channel of a batch its number, and the first and last ten minutes from which there are readings."""
    inside = _inside(batch)
    if inside is None:
        return ()
    times = inside.values("at_ms")
    ends = (
        Channel.objects.kept()
        .filter(dryer=batch.dryer_id)
        .order_by("pk")
        .annotate(first=Subquery(times[:1]), last=Subquery(times.order_by("-at_ms")[:1]))
    )
    rows = ends.values_list("pk", "first", "last")
    return tuple((pk, first // TEN_MINUTES, last // TEN_MINUTES) for pk, first, last in rows if first is not None)


def _inside(batch: Batch) -> "QuerySet[Reading] | None":
    """Return a channel's readings during a batch, the oldest first, to be asked inside a question for channels."""
    if batch.started_at is None:
        return None
    start, end = (round(at.timestamp() * 1000) for at in (batch.started_at, batch.ended_at or timezone.now()))
    return Reading.objects.filter(channel=OuterRef("pk"), at_ms__range=(start, end)).order_by("at_ms")


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


def _forecast_start(batch: Batch) -> datetime | None:
    hours = batch.prediction.get("drying_start_h") if batch.prediction else None
    if hours is None or batch.started_at is None:
        return None
    return batch.started_at + timedelta(hours=float(hours))
