"""What became of a plan: its booked batches as they are now, and other batches in the same dryers."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q

from drystow.web.batches.judged import Judged
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.batches.outage_adapters import cuts_of
from drystow.web.batches.outlook import finish_of
from drystow.web.kit.answers import KeptAnswer
from drystow.web.plans.models import Booked, Plan

SURE = 0.66  # of the way from the time of five runs in ten to that of nine: that of eight, for a normal spread
UNKNOWN = timedelta(hours=36)  # that a run takes of which nothing was forecast; drystow-default
AFTER = timedelta(hours=12)  # after five in ten runs, when the ninth is not in sight; drystow-default


@dataclass(frozen=True)
class InDryer:
    """A batch in a dryer, as a plan that rests on it keeps it.

    lot: its lot number
    dryer: name of the dryer
    start, end: from when to when it takes the dryer
    state: of a batch of the plan: planned, running or over
    filled: lot of the plan -> fresh food of it in the batch [kg]
    """

    lot: str
    dryer: str
    start: datetime
    end: datetime
    state: str = ""
    filled: dict[int, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Filled:
    """Food of one lot in a booked batch.

    lot: number of the lot
    trays: that it lies on
    mass: fresh [kg]
    """

    lot: int
    trays: int
    mass: float


@dataclass(frozen=True)
class BatchNow:
    """A booked batch as it is now.

    pk: of the batch
    row: of the batch
    dryer: number of the dryer
    state: planned, running or over
    start: when it was loaded, or is to be
    end: when it ended, is expected to be dry, or is to be unloaded
    took: how long it was to dry when it was booked, None where nobody knows
    filled: what is in it
    """

    pk: int
    row: Batch
    dryer: int
    state: str
    start: datetime
    end: datetime
    took: timedelta | None
    filled: tuple[Filled, ...]

    @property
    def begun(self) -> bool:
        """It is running or over."""
        return self.state != "planned"

    @property
    def in_dryer(self) -> InDryer:
        """Return it as a plan keeps it."""
        filled = {one.lot: round(one.mass, 3) for one in self.filled}
        return InDryer(self.row.lot, self.row.dryer.name, self.start, self.end, self.state, filled)


@dataclass(frozen=True)
class OtherBatch:
    """A batch that did not come from the plan.

    pk: of the batch
    lot: its lot number
    dryer: number of the dryer
    name: of the dryer
    start: when it was loaded, or is to be by another plan
    end: when it ended or is expected to
    running: it has begun and not ended
    """

    pk: int
    lot: str
    dryer: int
    name: str
    start: datetime
    end: datetime
    running: bool

    @property
    def in_dryer(self) -> InDryer:
        """Return it as a plan keeps it."""
        return InDryer(self.lot, self.name, self.start, self.end)


def live_bookings(plan: Plan | int | None = None) -> Any:
    """Return the bookings of a plan whose batch is not in the bin; those of all plans without one."""
    rows = Booked.objects.kept().filter(batch__binned_at=None, plan__binned_at=None)
    return rows if plan is None else rows.filter(plan=plan)


def booked_batches(plan: Plan) -> tuple[BatchNow, ...]:
    """Return the booked batches of a plan, in the order of loading."""
    rows = list(live_bookings(plan).select_related("batch__dryer"))
    dry = DRYNESS.kept_about(row.batch_id for row in rows)
    inside = _inside([row.batch_id for row in rows])
    found = []
    for row in rows:
        batch = row.batch
        start, end = _span(batch, row.start, row.end, dry.get(batch.pk))
        filled = tuple(_filled(part, inside) for part in row.lots)
        kept = tuple(one for one in filled if one.mass > 0.0)
        took = None if row.dry is None else row.dry - row.start
        found.append(BatchNow(batch.pk, batch, batch.dryer_id, _state(batch), start, end, took, kept))
    return tuple(sorted(found, key=lambda one: (one.start, one.pk)))


def other_batches(plan: Plan, dryers: Sequence[int], begin: datetime, end: datetime) -> tuple[OtherBatch, ...]:
    """Return batches in these dryers that did not come from the plan: running, over, or booked from another plan.

    begin, end: between which they matter
    """
    mine = Q(booked__plan=plan, booked__binned_at=None)
    timed = Q(started_at__isnull=False) | Q(booked__isnull=False)
    others = Batch.objects.kept().filter(timed, dryer__in=dryers).exclude(mine)
    rows = list(others.filter(Q(ended_at=None) | Q(ended_at__gt=begin)).select_related("dryer", "booked__plan"))
    dry = DRYNESS.kept_about(batch.pk for batch in rows)
    found = []
    for batch in rows:
        booked = getattr(batch, "booked", None)
        if booked is not None and (booked.binned_at is not None or booked.plan.binned_at is not None):
            booked = None
        if booked is None and batch.started_at is None:
            continue
        start, until = _span(batch, booked and booked.start, booked and booked.end, dry.get(batch.pk))
        if start < end and (until > begin or _state(batch) == "running"):
            running = _state(batch) == "running"
            found.append(OtherBatch(batch.pk, batch.lot, batch.dryer_id, batch.dryer.name, start, until, running))
    return tuple(sorted(found, key=lambda one: (one.start, one.pk)))


def _state(batch: Batch) -> str:
    if batch.started_at is None:
        return "planned"
    return "running" if batch.ended_at is None else "over"


def _span(
    batch: Batch, start: datetime | None, end: datetime | None, dry: KeptAnswer[Judged] | None
) -> tuple[datetime, datetime]:
    """Return from when to when a batch takes its dryer.

    start, end: as planned, None when nobody planned it
    dry: how dry it is, None while that is not known
    """
    if batch.started_at is None:
        assert start is not None
        assert end is not None
        return start, end
    if batch.ended_at is not None:
        return batch.started_at, max(batch.ended_at, batch.started_at)
    finish = finish_of(batch, None if dry is None else dry.result, cuts_of(batch))
    planned = end - start if start is not None and end is not None else UNKNOWN
    if finish is None:
        return batch.started_at, batch.started_at + planned
    late = finish.middle + (AFTER if finish.late is None else SURE * (finish.late - finish.middle))
    return batch.started_at, late if end is None else max(late, min(end, batch.started_at + planned))


def _inside(batches: Iterable[int]) -> dict[int, tuple[float, int]]:
    """Return mass and number of trays of every item of batches; what lies on no tray counts as in the basket."""
    loads: defaultdict[int, list[Load]] = defaultdict(list)
    for load in Load.objects.kept().filter(item__batch__in=batches, item__binned_at=None):
        loads[load.item_id].append(load)
    found = {}
    for item in Item.objects.kept().filter(batch__in=batches):
        own = loads.get(item.pk, [])
        mass = sum(load.mass_kg for load in own) if own else item.mass_kg
        found[item.pk] = (mass, len({load.tray for load in own}))
    return found


def _filled(part: dict[str, Any], inside: dict[int, tuple[float, int]]) -> Filled:
    mass, trays = inside.get(part["item"], (0.0, 0))
    return Filled(part["lot"], trays or part["trays"], mass)
