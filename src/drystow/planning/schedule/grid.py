"""The schedule in whole numbers: steps of time, grams and cents, and what each rule says about one batch."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property


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
