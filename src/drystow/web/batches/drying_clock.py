"""When a batch dried: from when the vacuum was on, without the time that power cuts and opened doors took."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from drystow.evidence.dryness.observed import ONE_OPENING
from drystow.web.batches import run_readings as sensors
from drystow.web.batches.adapters import predict_overload
from drystow.web.batches.models import Batch, Happening, Load, Weighing


@dataclass(frozen=True)
class DryingClock:
    """When a batch dried.

    began: vacuum on
    ended: end of the run, None while it goes on
    pauses: from and until when it did not dry, in order, none touching another
    """

    began: datetime
    ended: datetime | None = None
    pauses: tuple[tuple[datetime, datetime], ...] = ()

    def dried_until(self, moment: datetime) -> float:
        """Return how long the batch had been drying at a moment, 0 before it began [s]."""
        end = moment if self.ended is None else min(moment, self.ended)
        away = sum((max(min(end, back) - max(self.began, out), timedelta()) for out, back in self.pauses), timedelta())
        return max((end - self.began - away).total_seconds(), 0.0)


def began_at(batch: Batch, loads: list[Load] | None = None) -> datetime | None:
    """Return when drying began: as somebody wrote, else when the measured pressure fell, else when the food was frozen
    as predicted, later by the power cuts before that; None: nobody knows.
    """
    if batch.drying_began_at is not None or batch.started_at is None:
        return batch.drying_began_at
    measured = sensors.measured_start(batch)
    if measured is not None:
        return measured
    hours = batch.prediction.get("drying_start_h")
    if hours is None:
        hours = predict_overload(batch, loads).drying_start / 3600.0
    began = batch.started_at + timedelta(hours=hours)
    cuts = Happening.objects.kept().filter(batch=batch, kind="power", minutes__gt=0, at__gte=batch.started_at)
    for at, minutes in cuts.order_by("at", "pk").values_list("at", "minutes"):
        began += timedelta(minutes=minutes or 0.0) if at < began else timedelta()
    return began


def pauses_of(
    happenings: Iterable[Happening],
    weighings: Iterable[Weighing],
    pump_down: float,
    took: Mapping[int, timedelta] = MappingProxyType({}),
) -> tuple[tuple[datetime, datetime], ...]:
    """Return when a batch did not dry: power cuts, and opened doors that no weighing tells of.

    pump_down: time until the vacuum is back [s]
    took: by how much later the run ends, of power cuts whose course is known
    """
    near = timedelta(seconds=ONE_OPENING)
    taken = [
        (row.at - timedelta(minutes=row.outside_min) - near, row.at + timedelta(minutes=row.outside_min) + near)
        for row in weighings
    ]
    spans = [
        (row.at, row.at + took.get(row.pk, timedelta(minutes=row.minutes, seconds=pump_down)))
        for row in happenings
        if row.minutes and (row.kind == "power" or (row.kind == "door" and not _told(row, taken)))
    ]
    joined: list[tuple[datetime, datetime]] = []
    for out, back in sorted(spans):
        if joined and out <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], back))
        else:
            joined.append((out, back))
    return tuple(joined)


def _told(door: Happening, taken: Iterable[tuple[datetime, datetime]]) -> bool:
    closed = door.at + timedelta(minutes=door.minutes or 0.0)
    return any(out <= door.at and closed <= back for out, back in taken)
