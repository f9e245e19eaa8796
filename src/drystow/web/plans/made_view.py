"""A plan as its page, its sheet and its calendar show it: what was kept, and the batches that it became."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from drystow.web.batches.models import Batch
from drystow.web.plans.made import LotShown, MadeBatch, MadePlan
from drystow.web.plans.waiting import Limits


@dataclass(frozen=True)
class BatchShown:
    """One batch of a plan.

    number: in the order of loading, from 1
    key: dryer of the plan and moment of loading, to name it in a form
    row: number of the dryer in the plan
    dryer: its name
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    places: trays of the dryer
    trays: that are used
    lots: what is in it
    batch: of the kitchen, None while it is only planned
    """

    number: int
    key: str
    row: int
    dryer: str
    start: datetime
    dry: datetime
    end: datetime
    places: int
    trays: int
    lots: tuple[LotShown, ...]
    batch: Batch | None

    @property
    def begun(self) -> bool:
        """It is running or over."""
        return self.batch is not None and self.batch.started_at is not None

    @property
    def over(self) -> bool:
        """It has ended."""
        return self.batch is not None and self.batch.ended_at is not None

    @property
    def names(self) -> tuple[str, ...]:
        """What is in it."""
        return tuple(lot.name for lot in self.lots)


@dataclass(frozen=True)
class PlanTask:
    """Something to do.

    kind: load or unload
    at: when
    batch: which one
    """

    kind: str
    at: datetime
    batch: BatchShown


@dataclass(frozen=True)
class PlanShown:
    """A plan.

    made: as it was made
    batches: in the order of loading, as they are now
    more: how much more the best plan can save at most [-]
    compared: simple rule -> how much less it saves [-]
    to_freeze: lots of which a part goes into the freezer when it comes, with that moment
    cost: of the electricity of what is only planned
    """

    made: MadePlan
    batches: tuple[BatchShown, ...]
    more: float
    compared: Mapping[str, float]
    to_freeze: tuple[tuple[datetime, LotShown], ...]
    cost: float

    @property
    def share(self) -> int:
        """Part of the food that is dried, 100 only for all of it; of its worth where lots differ in that."""
        made = self.made
        part, whole = (made.saved_worth, made.total_value) if made.valued else (made.saved, made.total)
        return min(int(100 * part / whole + 1e-6), 99) if made.left_out and whole else 100

    @property
    def to_book(self) -> tuple[BatchShown, ...]:
        """Batches that are only planned."""
        return tuple(one for one in self.batches if one.batch is None)

    def next_step(self) -> PlanTask | None:
        """Return what is to be done next, None when nothing is."""
        steps = [PlanTask("unload", one.end, one) for one in self.batches if one.begun and not one.over]
        steps += [PlanTask("load", one.start, one) for one in self.batches if not one.begun]
        return min(steps, key=lambda step: step.at, default=None)


def plan_view(made: MadePlan, booked: Mapping[int, Batch], now: datetime) -> PlanShown:
    """Return a plan for its pages.

    made: as it was kept
    booked: batches that came from the plan and are not in the bin, by their numbers
    now: nothing that has not begun is loaded before it
    """
    saved = made.saved_value
    batches = tuple(_batch(number, one, booked, made.limits, now) for number, one in enumerate(made.batches, start=1))
    return PlanShown(
        made=made,
        batches=batches,
        to_freeze=tuple(_to_freeze(made, batches)),
        more=max(made.bound / saved - 1.0, 0.0) if saved > 0 else 0.0,
        compared={name: max(1.0 - value / saved, 0.0) if saved > 0 else 0.0 for name, value in made.compared.items()},
        cost=sum(one.cost for one in made.batches if one.batch not in booked),
    )


def _batch(
    number: int, one: MadeBatch, booked: Mapping[int, Batch], limits: Mapping[int, Limits], now: datetime
) -> BatchShown:
    """Return a batch; what has happened already stands in its place of what was planned."""
    batch = booked.get(one.batch) if one.batch else None
    start, dry, end = one.start, one.dry, one.end
    begun = batch is not None and batch.started_at is not None
    if batch is not None and batch.started_at is not None:
        start = batch.started_at
        end = max(end if batch.ended_at is None else batch.ended_at, start)
        dry = min(max(dry, start), end)

    def verdict(lot: LotShown) -> str:
        return lot.verdict or ("" if begun else limits[lot.pk].judged(lot.frozen, max(start, now)))

    return BatchShown(
        number=number,
        key=one.key,
        row=one.row,
        dryer=one.dryer,
        start=start,
        dry=dry,
        end=end,
        places=one.places,
        trays=one.trays,
        lots=tuple(replace(lot, verdict=verdict(lot)) for lot in one.lots),
        batch=batch,
    )


def _to_freeze(made: MadePlan, batches: Iterable[BatchShown]) -> list[tuple[datetime, LotShown]]:
    """Return what goes into the freezer when it comes, all of a lot together; not what has left it already."""
    found: dict[int, LotShown] = {}
    for one in (lot for batch in batches if not batch.begun for lot in batch.lots):
        if one.frozen and not one.verdict and one.pk not in made.came_frozen:
            had = found.get(one.pk)
            found[one.pk] = one if had is None else replace(one, mass=one.mass + had.mass, trays=one.trays + had.trays)
    return sorted(((made.arrivals[pk], lot) for pk, lot in found.items()), key=lambda pair: (pair[0], pair[1].pk))
