"""The schedule in whole numbers: steps of time, grams and cents, and what each rule says about one batch."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from drystow.errors import InputError
from drystow.machine.item import TrayItem
from drystow.messages import msg
from drystow.planning.schedule.arrivals import ArrivingLot, FixedBatch, Lots, LotTray, PlannedDryer
from drystow.planning.schedule.batch_time import Reckoning, drying_time, mean_power
from drystow.planning.schedule.cold_storage import LOOK, verdict_on
from drystow.planning.separation import clash
from drystow.planning.watching import Tick


@dataclass(frozen=True)
class Job:
    """A lot on the grid; entries per dryer stand in the order of the dryers.

    name: of the lot
    mass: what is still to be dried [g]
    price: value of a kilogram [cents]
    loads: on one tray, per dryer [g]
    trays: that the mass fills, per dryer; 0: not in this dryer
    arrival: first step at which it can be loaded
    came: step at which it came, below 0 when before the plan; from then on it is in the freezer if it has to be
    fresh_until: last step at which it can be loaded from the refrigerator
    frozen_until: last step at which it can be loaded from the freezer
    fresh: steps that it dries when loaded from the refrigerator, per dryer; 0: never dry
    frozen: likewise from the freezer
    room: freezer space of a kilogram, in the unit of the freezer
    water: on one tray, per dryer [g]
    ready_by: last step at which it may be unloaded
    must: all of it is wished for
    apart: numbers of the jobs that may not share its batch
    """

    name: str
    mass: int
    price: int
    loads: tuple[int, ...]
    trays: tuple[int, ...]
    arrival: int
    came: int
    fresh_until: int
    frozen_until: int
    fresh: tuple[int, ...]
    frozen: tuple[int, ...]
    room: int
    water: tuple[int, ...]
    ready_by: int
    must: bool
    apart: frozenset[int]


@dataclass(frozen=True)
class GridDryer:
    """A dryer on the grid.

    name: of the dryer
    trays: that it has
    trap: water that its vapour trap holds [g]
    turnaround: steps from unloading until it can be loaded again
    blocked: steps in which it is not to be had, from and before
    costs: of running during each step [1/100 cent]
    """

    name: str
    trays: int
    trap: int
    turnaround: int
    blocked: tuple[tuple[int, int], ...]
    costs: tuple[int, ...]


@dataclass(frozen=True)
class ScheduleProblem:
    """Everything that a schedule is made from.

    steps: of the plan; step 0 is its begin
    home: somebody is there to load and unload, per step
    jobs: lots
    machines: dryers
    freezer: space that is free, per step
    """

    steps: int
    home: tuple[bool, ...]
    jobs: tuple[Job, ...]
    machines: tuple[GridDryer, ...]
    freezer: tuple[int, ...]

    @cached_property
    def next_home(self) -> tuple[int | None, ...]:
        """First step from each one on at which somebody is there, None when there is none any more."""
        after: int | None = None
        found = []
        for step in range(self.steps - 1, -1, -1):
            after = step if self.home[step] else after
            found.append(after)
        return tuple(reversed(found))

    @cached_property
    def freezer_moments(self) -> tuple[int, ...]:
        """Steps at which the freezer may become too full: when food comes, and when there is less space."""
        found = {max(job.came, 0) for job in self.jobs if job.frozen_until >= job.arrival and job.room}
        less = (step for step in range(1, self.steps) if self.freezer[step] < self.freezer[step - 1])
        return tuple(sorted(step for step in {*found, *(less if found else ())} if step < self.steps))


@dataclass(frozen=True)
class Run:
    """One batch.

    machine: number of the dryer
    start: step of loading
    end: step of unloading
    trays: number of a job -> its trays
    """

    machine: int
    start: int
    end: int
    trays: Mapping[int, int]


Plan = Sequence[Run]
"""Batches in any order."""


def is_frozen(job: Job, start: int) -> bool:
    """Return whether a lot that is loaded at a step has waited in the freezer."""
    return start > job.fresh_until


def in_freezer(job: Job, start: int) -> range:
    """Return the steps of the plan in which a lot that is loaded at a step takes room in the freezer.

    It is there since it came: what came before the plan takes room from its begin on, also when it is loaded at once.
    """
    if not is_frozen(job, start):
        return range(0)
    return range(max(job.came, 0), max(start, 1) if job.came < 0 else start)


def may_start(job: Job, start: int) -> bool:
    """Return whether a lot is there and has not spoiled at a step."""
    return job.arrival <= start <= max(job.fresh_until, job.frozen_until)


def duration(job: Job, machine: int, start: int) -> int:
    """Return for how many steps a lot dries when it is loaded at a step; 0: never dry."""
    return (job.frozen if is_frozen(job, start) else job.fresh)[machine]


def unloading(problem: ScheduleProblem, end: int) -> int | None:
    """Return the first step from `end` on at which somebody can unload, None when the plan is over."""
    return problem.next_home[end] if end < problem.steps else None


def is_free(machine: GridDryer, start: int, end: int) -> bool:
    """Return whether a dryer can be had from loading until it is ready for the next batch."""
    return all(end + machine.turnaround <= begin or until <= start for begin, until in machine.blocked)


def end_of(problem: ScheduleProblem, job: int, machine: int, start: int) -> int | None:
    """Return when a lot alone would be unloaded, None when it cannot be loaded at this step into this dryer."""
    lot, dryer = problem.jobs[job], problem.machines[machine]
    steps = duration(lot, machine, start)
    if not lot.trays[machine] or not steps or not may_start(lot, start) or not problem.home[start]:
        return None
    end = unloading(problem, start + steps)
    if end is None or end > lot.ready_by or not is_free(dryer, start, end):
        return None
    return end


def trimmed(problem: ScheduleProblem, run: Run) -> Run:
    """Return a batch that ends as soon as its slowest tray is dry and somebody is there."""
    slowest = max(duration(problem.jobs[job], run.machine, run.start) for job in run.trays)
    end = unloading(problem, run.start + slowest)
    return Run(run.machine, run.start, run.end if end is None else end, run.trays)


def saved_mass(problem: ScheduleProblem, plan: Plan, job: int) -> int:
    """Return how much of a lot is dried [g]."""
    lot = problem.jobs[job]
    return min(lot.mass, sum(lot.loads[run.machine] * run.trays.get(job, 0) for run in plan))


def saved_value(problem: ScheduleProblem, plan: Plan) -> int:
    """Return the value of what is dried [1/1000 cent]."""
    loaded = [0] * len(problem.jobs)
    for run in plan:
        for number, trays in run.trays.items():
            loaded[number] += problem.jobs[number].loads[run.machine] * trays
    return sum(min(job.mass, mass) * job.price for job, mass in zip(problem.jobs, loaded, strict=True))


def run_cost(problem: ScheduleProblem, run: Run) -> int:
    """Return what the electricity of a batch costs, from loading to unloading [1/100 cent]."""
    return sum(problem.machines[run.machine].costs[run.start : run.end])


def plan_cost(problem: ScheduleProblem, plan: Plan) -> int:
    """Return what the electricity of all batches costs [1/100 cent]."""
    return sum(run_cost(problem, run) for run in plan)


def idle_steps(problem: ScheduleProblem, plan: Plan) -> int:
    """Return for how many steps dryers stand idle before they are unloaded for the last time."""
    idle = 0
    for number in range(len(problem.machines)):
        runs = [run for run in plan if run.machine == number]
        idle += max((run.end for run in runs), default=0) - sum(run.end - run.start for run in runs)
    return idle


def freezer_use(problem: ScheduleProblem, plan: Plan, step: int) -> int:
    """Return the freezer space that food waiting for its batch takes, a thousand times [unit of the freezer]."""
    return sum(
        problem.jobs[job].room * problem.jobs[job].loads[run.machine] * trays
        for run in plan
        for job, trays in run.trays.items()
        if step in in_freezer(problem.jobs[job], run.start)
    )


HOUR = 3600.0
STEPS = (1.0, 2.0, 3.0, 4.0)  # grids that are chosen from [h]
MOST_PLACES = 6000  # loading times, times lots, times dryers, up to which a grid is fine enough to search


def grid_step(lots: Lots) -> float:
    """Return the step of the grid: the one written, or the finest that can be searched in a short time [s]."""
    if lots.step:
        return lots.step
    hours = sum(end - begin for day in lots.home for begin, end in day) * lots.days / 7
    for step in STEPS:
        if hours / step * len(lots.lots) * len(lots.dryers) <= MOST_PLACES:
            return step * HOUR
    return STEPS[-1] * HOUR


def to_grid(lots: Lots, how: Reckoning, tick: Tick = lambda _share: None) -> ScheduleProblem:
    """Return the problem in whole steps, grams and cents; times are rounded to the safe side.

    lots: what is to be dried, where and when
    how: members and seed of the drying times
    tick: called with the share of the drying times that is known
    """
    step = grid_step(lots)
    steps = math.floor(lots.days * 24 * HOUR / step)
    _check_fixed(lots)
    found = []
    for number in range(len(lots.lots)):
        found.append(_job(lots, number, step, steps, how))
        tick((number + 1) / len(lots.lots))
    jobs = tuple(found)
    machines = tuple(_machine(lots, number, step, steps) for number in range(len(lots.dryers)))
    space = kept_food(lots, jobs, step, steps).space
    home = tuple(at_home(lots, at_step(lots, step, at), min(step / HOUR, 1.0)) for at in range(steps))
    return ScheduleProblem(steps, home, jobs, machines, space)


@dataclass(frozen=True)
class KeptFood:
    """What became of the food of batches that are kept.

    space: of the freezer that is left for other food, per step
    masses: (place of the batch, lot) -> fresh mass [kg]
    spoiled: those of them that waited longer than they keep, where no freezer had room for them since they came
    """

    space: tuple[int, ...]
    masses: Mapping[tuple[int, str], float]
    spoiled: frozenset[tuple[int, str]]


def kept_food(lots: Lots, jobs: Sequence[Job], step: float, steps: int) -> KeptFood:
    """Return what became of the food of batches that are kept, those that are loaded first before the others.

    Who has loaded a plant past its time has looked at it and decided.

    lots: with its fixed batches
    jobs: its lots on the grid
    step: grid of times [s]
    steps: of the plan
    """
    whole = math.floor(lots.freezer * (1e3 if lots.freezer_by_mass else 1e6))
    space, spoiled = [whole] * steps, set()
    masses = {
        (place, name): fixed_mass(lots, batch, name)
        for place, batch in enumerate(lots.fixed)
        for name, _trays in batch.trays
    }
    for place, name in sorted(masses, key=lambda one: lots.fixed[one[0]].start):
        number = next(number for number, lot in enumerate(lots.lots) if lot.name == name)
        lot, job, moment = lots.lots[number], jobs[number], lots.fixed[place].start
        start, came = math.floor(since(lots, moment) / step), max(job.came, 0)
        past = moment > lot.fridge_until
        there = range(came, min(max(start, came + 1), steps)) if past else in_freezer(job, min(start, steps))
        if moment < lots.begin:  # it has left the freezer by then
            there = range(0)
        taken = math.ceil(job.room * masses[place, name])
        if past and (moment > lot.freezer_until or taken > min((space[at] for at in there), default=whole)):
            if not (lots.fixed[place].begun and verdict_on(lot.item.food) == LOOK):
                spoiled.add((place, name))
            continue
        for at in there:
            space[at] = max(space[at] - taken, 0)
    return KeptFood(tuple(space), masses, frozenset(spoiled))


def since(lots: Lots, moment: datetime) -> float:
    """Return the time from the begin of the plan [s]."""
    return (moment - lots.begin).total_seconds()


def at_step(lots: Lots, step: float, number: int) -> datetime:
    """Return the moment of a step."""
    return lots.begin + timedelta(seconds=step * number)


def at_home(lots: Lots, moment: datetime, needed: float) -> bool:
    """Return whether somebody is there at a moment, and for some time after it.

    lots: with the hours
    moment: the kitchen's own time
    needed: how long [h]
    """
    hour = moment.hour + moment.minute / 60 + moment.second / 3600
    return any(start <= hour and hour + needed <= end + 1e-9 for start, end in lots.home[moment.weekday()])


def fixed_mass(lots: Lots, batch: FixedBatch, name: str) -> float:
    """Return the fresh mass of one lot in a batch that is kept: as weighed, else evenly spread over all its trays [kg].

    lots: of the plan
    batch: that is kept
    name: of the lot
    """
    weighed = dict(batch.masses).get(name)
    if weighed is not None:
        return weighed
    lot = next(lot for lot in lots.lots if lot.name == name)
    cut = lot.cuts[batch.dryer] or next(cut for cut in lot.cuts if cut is not None)
    trays = sum(count for other, count in batch.trays if other == name)
    return min(trays * lot.mass / trays_of(lot.mass, cut), lot.mass)


def _job(lots: Lots, number: int, step: float, steps: int, how: Reckoning) -> Job:
    lot = lots.lots[number]
    came = since(lots, lot.arrival)
    done = sum(fixed_mass(lots, batch, lot.name) for batch in lots.fixed if lot.name in dict(batch.trays))
    left = max(round((lot.mass - done) * 1e3), 0)
    came_at = math.ceil(came / step)
    arrival = max(came_at, math.ceil(since(lots, lots.now or lots.begin) / step), 0)
    fresh_until = came_at - 1 if lot.frozen else math.floor((came + lot.window.fridge) / step)
    frozen_until = math.floor((came + lot.window.freezer) / step) if lot.window.freezer else -1
    loads: list[int] = []
    trays: list[int] = []
    fresh: list[int] = []
    frozen: list[int] = []
    water: list[int] = []
    for dryer, cut in zip(lots.dryers, lot.cuts, strict=True):
        if cut is None:
            for values in (loads, trays, fresh, frozen, water):
                values.append(0)
            continue
        count = trays_of(left / 1e3, cut)
        load = math.ceil(left / count) if count else round(cut.mass * 1e3)
        loads.append(load)
        trays.append(count)
        water.append(math.ceil(load * cut.fresh.water / cut.mass))
        fresh.append(_steps(dryer, lot, cut.fresh, step, how) if left and not lot.frozen else 0)
        frozen.append(_steps(dryer, lot, cut.frozen, step, how) if left and frozen_until >= arrival else 0)
    return Job(
        name=lot.name,
        mass=left,
        price=round(lot.value * 100),
        loads=tuple(loads),
        trays=tuple(trays),
        arrival=arrival,
        came=came_at,
        fresh_until=fresh_until,
        frozen_until=min(frozen_until, steps),
        fresh=tuple(fresh),
        frozen=tuple(frozen),
        room=1000 if lots.freezer_by_mass else round(lot.volume * 1e6),
        water=tuple(water),
        ready_by=steps if lot.ready_by is None else math.floor(since(lots, lot.ready_by) / step),
        must=lot.must,
        apart=_apart(lots, number),
    )


def trays_of(mass: float, cut: LotTray) -> int:
    """Return on how many trays a mass is spread, as few as hold it.

    mass: fresh [kg]
    cut: one full tray
    """
    return math.ceil(mass / cut.mass - 1e-6)


def _steps(dryer: PlannedDryer, lot: ArrivingLot, item: TrayItem, step: float, how: Reckoning) -> int:
    time = lot.drying_time or drying_time(dryer.rig, item, how, dryer.known)
    return math.ceil(time / step - 1e-9)


def _apart(lots: Lots, number: int) -> frozenset[int]:
    food = lots.lots[number].item.food
    return frozenset(
        other
        for other, lot in enumerate(lots.lots)
        if other != number and clash(food, lot.item.food, lots.rules) is not None
    )


def _machine(lots: Lots, number: int, step: float, steps: int) -> GridDryer:
    dryer = lots.dryers[number]
    turnaround = math.ceil(dryer.turnaround / step - 1e-9)
    blocked = [
        (math.floor(since(lots, begin) / step), math.ceil(since(lots, end) / step)) for begin, end in dryer.service
    ]
    for batch in lots.fixed:
        if batch.dryer == number:
            begin, end = math.floor(since(lots, batch.start) / step), math.ceil(since(lots, batch.end) / step)
            blocked.append((begin, end + turnaround))
    cuts = [cut for lot in lots.lots if (cut := lot.cuts[number]) is not None]
    power = mean_power(dryer.rig, cuts[0].fresh, dryer.known) if cuts and _priced(lots) else 0.0
    costs = tuple(round(power / 1e3 * 1e4 * _price(lots, at * step, step)) for at in range(steps))
    return GridDryer(
        name=dryer.name,
        trays=dryer.rig.dryer.trays,
        trap=math.floor(dryer.rig.dryer.trap_capacity * 1e3),
        turnaround=turnaround,
        blocked=tuple(sorted(blocked)),
        costs=costs,
    )


def _priced(lots: Lots) -> bool:
    return any(price for day in lots.price for price in day)


def _price(lots: Lots, begin: float, step: float) -> float:
    """Return what a kilowatt costs over one step [currency/kW]."""
    parts = 4
    moments: Sequence[datetime] = [
        lots.begin + timedelta(seconds=begin + step * (part + 0.5) / parts) for part in range(parts)
    ]
    return sum(lots.price[moment.weekday()][moment.hour] for moment in moments) / parts * step / HOUR


def _check_fixed(lots: Lots) -> None:
    for place, batch in enumerate(lots.fixed, start=1):
        for other in lots.fixed[: place - 1]:
            if batch.dryer == other.dryer and batch.start < other.end and other.start < batch.end:
                words = msg(
                    "two batches are in '{dryer}' at the same time; change one", dryer=lots.dryers[batch.dryer].name
                )
                raise InputError(f"fixed[{place}]", words)
        if sum(trays for _name, trays in batch.trays) > lots.dryers[batch.dryer].rig.dryer.trays:
            words = msg("holds more trays than '{dryer}' has", dryer=lots.dryers[batch.dryer].name)
            raise InputError(f"fixed[{place}].trays", words)
