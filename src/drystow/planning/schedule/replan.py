"""Plan again while a plan is under way: what is running or finished stays, what is to come may have to wait."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from drystow.planning.schedule.arrivals import FixedBatch, Lots
from drystow.planning.schedule.grid import at_home
from drystow.planning.schedule.plan import Schedule

LOOK = timedelta(minutes=15)
"""Grid of the moments to which a batch is moved."""

FURTHEST = timedelta(days=60)
"""How far a batch is moved to hours with somebody there. Source: drystow-default."""

WORK = 0.5
"""Time that loading and unloading take [h]. Source: drystow-default."""


def with_fixed(lots: Lots, made: Schedule, now: datetime) -> Lots:
    """Return the lots with every batch that was loaded before a moment fixed, to be planned again.

    lots: of the first plan, perhaps with lots that came since; its own fixed batches stay
    made: the first plan
    now: moment of planning again; nothing new is loaded before it
    """
    names = [dryer.name for dryer in lots.dryers]
    loaded = [
        FixedBatch(
            names.index(batch.dryer),
            batch.start,
            batch.end,
            tuple((lot.name, lot.trays) for lot in batch.lots),
            tuple((lot.name, lot.mass) for lot in batch.lots),
        )
        for batch in made.batches
        if not batch.fixed and batch.start < now
    ]
    return from_now(replace(lots, fixed=(*lots.fixed, *loaded)), now)


def from_now(lots: Lots, now: datetime) -> Lots:
    """Return the lots to be planned from a moment on: nothing new is loaded before it, fixed batches are settled.

    lots: of a plan
    now: the moment
    """
    return replace(lots, now=now, fixed=settled(lots.fixed, lots, now))


def settled(fixed: Sequence[FixedBatch], lots: Lots, now: datetime) -> tuple[FixedBatch, ...]:
    """Return batches so that none overlaps, in the order given: those that have not begun wait for what is before them.

    What has begun stays as it is. What has not keeps its length and its place among the batches of its dryer. It is
    moved only when it has to, to the first moment that is not in the past, after the turnaround of what runs before it
    and outside of service stops, with somebody there to load and to unload it if there is such a moment.

    fixed: batches that are kept
    lots: dryers and hours; its own fixed batches are not looked at
    now: the moment
    """
    found = {}
    for dryer in range(len(lots.dryers)):
        own = [number for number, batch in enumerate(fixed) if batch.dryer == dryer]
        ready = datetime.min
        for number in sorted(own, key=lambda number: (not fixed[number].begun, fixed[number].start, number)):
            batch = fixed[number] if fixed[number].begun else _moved(fixed[number], lots, max(ready, now))
            found[number] = batch
            ready = max(ready, batch.end + _turnaround(lots, batch))
    return tuple(found[number] for number in range(len(fixed)))


def _turnaround(lots: Lots, batch: FixedBatch) -> timedelta:
    return timedelta(seconds=lots.dryers[batch.dryer].turnaround)


def _moved(batch: FixedBatch, lots: Lots, earliest: datetime) -> FixedBatch:
    length, around = batch.end - batch.start, _turnaround(lots, batch)
    stops = lots.dryers[batch.dryer].service

    def free(start: datetime) -> bool:
        return all(start + length + around <= begin or end <= start for begin, end in stops)

    def loaded(start: datetime) -> bool:
        return free(start) and at_home(lots, start, WORK)

    def unloaded_too(start: datetime) -> bool:
        return loaded(start) and at_home(lots, start + length, WORK)

    if batch.start >= earliest and free(batch.start):
        return batch
    begin = max(batch.start, earliest)
    for fits in (unloaded_too, loaded):
        start = _first(begin, fits)
        if start is not None:
            return replace(batch, start=start, end=start + length)
    start = next(moment for moment in sorted([begin, *(end for _b, end in stops)]) if moment >= begin and free(moment))
    return replace(batch, start=start, end=start + length)


def _first(begin: datetime, fits: Callable[[datetime], bool]) -> datetime | None:
    """Return the first quarter of an hour from a moment on that fits."""
    start = begin.replace(minute=0, second=0, microsecond=0)
    while start < begin:
        start += LOOK
    while start < begin + FURTHEST:
        if fits(start):
            return start
        start += LOOK
    return None
