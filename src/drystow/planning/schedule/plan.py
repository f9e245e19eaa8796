"""The schedule of many batches: when each dryer is loaded with what, what is saved, and what is left out and why."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from drystow.planning.schedule import reasons
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.batch_time import Reckoning
from drystow.planning.schedule.cold_storage import verdict_on
from drystow.planning.schedule.greedy import RULES
from drystow.planning.schedule.grid import (
    KeptFood,
    Run,
    ScheduleProblem,
    at_step,
    duration,
    grid_step,
    idle_steps,
    is_frozen,
    kept_food,
    run_cost,
    saved_value,
    to_grid,
)
from drystow.planning.schedule.left_out import NOTHING, LeftOut, cautions_of, left_out_of, masses_of, notes_of
from drystow.planning.schedule.value_search import Solved, solve
from drystow.planning.watching import Tick, watched

VALUE = 1e-5  # of the search's unit of value [currency]
COST = 1e-4  # of the search's unit of cost [currency]
WHY_SECONDS = 1.5  # of the search for each rule that may stand against a wish
WHY_MOST = 20.0  # of all these searches together, after which no other rule is asked for
WHY_SHARE = 0.1  # of the work that is left when there are wishes, for these searches
ONE_TIME = 0.2  # that the drying times of one lot in one dryer take, for the share of the work that is done [s]


@dataclass(frozen=True)
class PlannedLot:
    """Trays of one lot in one batch.

    name: of the lot
    food: what it is
    trays: number of trays
    mass: fresh mass on them [kg]
    frozen: it waits in the freezer until then
    verdict: on food past its limit in a batch that is kept, ``do_not_use`` or ``look_and_decide``; else empty
    """

    name: str
    food: str
    trays: int
    mass: float
    frozen: bool
    verdict: str = ""


@dataclass(frozen=True)
class PlannedBatch:
    """One batch of the plan.

    dryer: name of the dryer
    start: when it is loaded
    dry: when all trays are dry in four of five members, or the end of a fixed batch
    end: when somebody unloads it
    free: when the dryer can be loaded again
    trays: that are used
    places: trays of the dryer
    lots: what is in it
    cost: of its electricity [currency]
    fixed: it stood already before the plan was made
    begun: it was running or finished then
    """

    dryer: str
    start: datetime
    dry: datetime
    end: datetime
    free: datetime
    trays: int
    places: int
    lots: tuple[PlannedLot, ...]
    cost: float
    fixed: bool
    begun: bool


@dataclass(frozen=True)
class Schedule:
    """A plan and how good it is.

    title: of the plan
    begin: its first moment
    end: its last moment
    step: grid of times [s]
    batches: in the order of loading
    saved_value: of the dried food, fixed batches included [currency]
    bound: no plan on this grid saves more [currency]
    gap: how much better the best plan can be at most [-]
    total_value: of all lots [currency]
    cost: of the electricity of planned batches [currency]
    priced: a tariff is set; without one electricity is not counted
    idle: of all dryers before they are unloaded for the last time [s]
    left_out: food that is not dried, with reasons
    wishes_met: everything that had to be dried is dried whole
    compared: value that simple rules save, by name [currency]
    notes: sentences
    cautions: sentences on safe handling
    sources: keys in sources.toml
    """

    title: str
    begin: datetime
    end: datetime
    step: float
    batches: tuple[PlannedBatch, ...]
    saved_value: float
    bound: float
    gap: float
    total_value: float
    cost: float
    priced: bool
    idle: float
    left_out: tuple[LeftOut, ...]
    wishes_met: bool
    compared: Mapping[str, float]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]


def schedule(
    lots: Lots,
    seconds: float = 20.0,
    seed: int = 1,
    workers: int = 2,
    how: Reckoning | None = None,
    tick: Tick = lambda _share: None,
) -> Schedule:
    """Return the plan that saves most food value, then costs least, then leaves the dryers idle least.

    lots: what is to be dried, where and when; fixed batches are kept as they are
    seconds: of the search
    seed: of the search and of the ensemble
    workers: threads of the search
    how: members and seed of the drying times
    tick: called with the share of the work that is done, drying times first, then the search by its time, in
        the thread of the caller
    """

    def why(solved: Solved) -> dict[int, tuple[str, ...]]:
        until = time.monotonic() + WHY_MOST
        return reasons.in_the_way(problem, solved.missed, lambda one: solve(one, WHY_SECONDS, seed, workers), until)

    times = ONE_TIME * len(lots.lots) * len(lots.dryers)
    part = times / (times + seconds)
    problem = to_grid(lots, how or Reckoning(seed=seed), lambda share: tick(part * share))
    found = 1.0 - WHY_SHARE if any(lot.must for lot in lots.lots) else 1.0
    solved = watched(
        lambda: solve(problem, seconds, seed, workers), seconds, lambda share: tick(part + (found - part) * share)
    )
    blocking = {}
    if solved.missed:
        blocking = watched(lambda: why(solved), WHY_MOST, lambda share: tick(found + (1.0 - found) * share))
    made = _told(lots, problem, solved, blocking)
    tick(1.0)
    return made


def _told(lots: Lots, problem: ScheduleProblem, solved: Solved, blocking: Mapping[int, tuple[str, ...]]) -> Schedule:
    step = grid_step(lots)
    food = kept_food(lots, problem.jobs, step, problem.steps)
    kept = _kept(lots, food)
    masses = masses_of(lots, problem, solved.plan, food)
    solved = replace(solved, missed=tuple(number for number in solved.missed if masses.left[number] > NOTHING))
    left_out = left_out_of(lots, problem, solved.plan, food, masses.left, blocking, step)
    batches = [_batch(lots, problem, run, step, mass) for run, mass in zip(solved.plan, masses.inside, strict=True)]
    done = sum(min(_kept_mass(kept, lot.name), lot.mass) * lot.value for lot in lots.lots)
    total = sum(lot.mass * lot.value for lot in lots.lots)
    planned = sum(mass * lots.lots[job].value for inside in masses.inside for job, mass in inside.items())
    saved = min(done + planned, total)
    bound = min(max(done + solved.bound * VALUE, saved), total)
    return Schedule(
        title=lots.title,
        begin=lots.begin,
        end=lots.begin + timedelta(days=lots.days),
        step=step,
        batches=tuple(sorted([*kept, *batches], key=lambda batch: (batch.start, batch.dryer))),
        saved_value=saved,
        bound=bound,
        gap=(bound - saved) / max(bound, 1e-9),
        total_value=total,
        cost=sum(run_cost(problem, run) for run in solved.plan) * COST,
        priced=lots.priced,
        idle=idle_steps(problem, solved.plan) * step,
        left_out=left_out,
        wishes_met=not solved.missed and not any(one.wished and one.verdict for one in left_out),
        compared={name: min(done + saved_value(problem, rule(problem)) * VALUE, saved) for name, rule in RULES.items()},
        notes=(*lots.notes, *notes_of(problem, solved, step)),
        cautions=cautions_of(lots, problem, solved.plan),
        sources=tuple(dict.fromkeys((*(lot.window.source for lot in lots.lots), "drystow-default", "household-day"))),
    )


def _kept_mass(kept: list[PlannedBatch], name: str) -> float:
    return sum(one.mass for batch in kept for one in batch.lots if one.name == name and not one.verdict)


def _batch(lots: Lots, problem: ScheduleProblem, run: Run, step: float, masses: Mapping[int, float]) -> PlannedBatch:
    """Return a batch in moments and kilograms."""
    inside = []
    for job, trays in sorted(run.trays.items()):
        lot, frozen = lots.lots[job], is_frozen(problem.jobs[job], run.start)
        inside.append(PlannedLot(lot.name, lot.item.food.name, trays, masses[job], frozen))
    slowest = max(duration(problem.jobs[job], run.machine, run.start) for job in run.trays)
    machine = problem.machines[run.machine]
    return PlannedBatch(
        dryer=machine.name,
        start=at_step(lots, step, run.start),
        dry=at_step(lots, step, run.start + slowest),
        end=at_step(lots, step, run.end),
        free=at_step(lots, step, run.end + machine.turnaround),
        trays=sum(run.trays.values()),
        places=machine.trays,
        lots=tuple(inside),
        cost=run_cost(problem, run) * COST,
        fixed=False,
        begun=False,
    )


def _kept(lots: Lots, food: KeptFood) -> list[PlannedBatch]:
    found = []
    for place, batch in enumerate(lots.fixed):
        dryer = lots.dryers[batch.dryer]
        inside = []
        for name, trays in batch.trays:
            lot = next(lot for lot in lots.lots if lot.name == name)
            verdict = verdict_on(lot.item.food) if (place, name) in food.spoiled else ""
            frozen = not verdict and (lot.frozen or batch.start > lot.fridge_until)
            inside.append(PlannedLot(lot.name, lot.item.food.name, trays, food.masses[place, name], frozen, verdict))
        free = batch.end + timedelta(seconds=dryer.turnaround)
        used = sum(trays for _name, trays in batch.trays)
        places = dryer.rig.dryer.trays
        whole = PlannedBatch(dryer.name, batch.start, batch.end, batch.end, free, used, places, tuple(inside), 0.0,
                             True, batch.begun)  # fmt: skip
        found.append(whole)
    return found
