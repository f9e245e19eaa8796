"""The best schedule with a proven bound: which batch starts when, and how many trays of which lot it takes."""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drystow.planning.schedule.greedy import ORDERS, greedy
from drystow.planning.schedule.grid import Plan, Run, ScheduleProblem, idle_steps, plan_cost, saved_mass, saved_value
from drystow.planning.schedule.model import Effort, Model, load_solver
from drystow.planning.schedule.structure import Slot, canonical, equal_machines, moved_up, normal_starts, slots_of
from drystow.planning.schedule.value_search import Task, most_value, worth

VALUE_SHARE = 0.85  # of the time, for what is wished and for value
WISH_SHARE = 0.3  # of that, for what is wished
COST_SHARE = 0.7  # of the rest, for cost; then idle time
LATE = 0.02  # of the time, in which the solver ends late
MOST_WARES = 20_000  # lots in slots among which a cheaper plan is looked for; in larger problems near the plan
NEAR = 12  # steps by which a batch may move then

__all__ = ["Solved", "load_solver", "solve"]


@dataclass(frozen=True)
class Solved:
    """A schedule and how good it is.

    plan: batches in the order of loading
    saved: value of the dried food [1/1000 cent]
    bound: no schedule on this grid saves more [1/1000 cent]
    missed: numbers of the jobs that had to be dried whole and cannot all be
    """

    plan: tuple[Run, ...]
    saved: int
    bound: int
    missed: tuple[int, ...]

    @property
    def gap(self) -> float:
        """How much better the best schedule can be at most [-]."""
        return (self.bound - self.saved) / self.bound if self.bound > 0 else 0.0


def solve(problem: ScheduleProblem, seconds: float = 20.0, seed: int = 1, workers: int = 2) -> Solved:
    """Return the schedule that saves most food value, then costs least, then leaves dryers idle least.

    problem: lots, dryers and rules on the grid
    seconds: of the search
    seed: of the search; with one worker the same seed gives the same schedule
    workers: threads of the search
    """
    load_solver()
    end = math.inf if workers == 1 else time.monotonic() + seconds * (1 - LATE)
    effort = Effort(seconds, seed, workers, workers == 1)
    plan, bound = _most_value(problem, replace(effort, seconds=seconds * VALUE_SHARE))
    plan = moved_up(problem, plan)
    plan = moved_up(problem, _cheapest(problem, plan, replace(effort, seconds=seconds * (1 - VALUE_SHARE)), end))
    missed = (n for n, job in enumerate(problem.jobs) if job.must and saved_mass(problem, plan, n) < job.mass)
    saved = saved_value(problem, plan)
    return Solved(plan, saved, max(bound, saved), tuple(missed))


def _most_value(problem: ScheduleProblem, effort: Effort) -> tuple[tuple[Run, ...], int]:
    """Return the plan that saves most, what is wished first, and the bound of the value."""
    groups = equal_machines(problem)
    slots = slots_of(problem, groups, [normal_starts(problem, group[0]) for group in groups])
    if not slots:
        return (), 0
    wished = [number for number, job in enumerate(problem.jobs) if job.must]
    only = [1 if job.must else 0 for job in problem.jobs]
    plans = [canonical(problem, greedy(problem, order)) for order in ORDERS.values()]
    plan = max(plans, key=lambda one: (worth(problem, one, only), saved_value(problem, one)))
    prices, least, extra = [job.price for job in problem.jobs], 0, 0
    if wished:
        share = replace(effort, seconds=effort.seconds * WISH_SHARE)
        plan, _bound = most_value(Task(problem, groups, slots, only, (), 0), plan, share)
        effort = replace(effort, seconds=effort.seconds * (1 - WISH_SHARE))
        least, extra = worth(problem, plan, only), max(prices) + 1
    raised = [price + extra * one for price, one in zip(prices, only, strict=True)]
    plan, bound = most_value(Task(problem, groups, slots, raised, wished, least), plan, effort)
    top = sum(job.price * job.mass for job in problem.jobs)
    return plan, min(math.floor(bound + 0.5) - extra * least, top)


def _cheapest(problem: ScheduleProblem, plan: tuple[Run, ...], effort: Effort, end: float) -> tuple[Run, ...]:
    """Return a plan that saves as much as the one given, costs least, and then leaves dryers idle least."""
    if not plan:
        return plan
    groups = [[number] for number in range(len(problem.machines))]
    slots = slots_of(problem, groups, [range(problem.steps)] * len(groups))
    model = Model(problem, groups, slots, _near(slots, plan))
    wished = [number for number, job in enumerate(problem.jobs) if job.must]
    if wished:
        model.model.add(sum(model.saved[n] for n in wished) >= sum(saved_mass(problem, plan, n) for n in wished))
    model.model.add(model.value([job.price for job in problem.jobs]) >= saved_value(problem, plan))
    cost, idle = model.cost(), model.idle()
    for aim, known, share in ((cost, plan_cost, COST_SHARE), (idle, idle_steps, 1.0)):
        left = effort.seconds * share if effort.steady else (end - time.monotonic()) * share
        if left <= 0:
            break
        model.model.add(aim <= known(problem, plan))
        model.model.minimize(aim)
        plan = model.solve(plan, replace(effort, seconds=left)).plan
        model.model.add(aim <= known(problem, plan))
    return plan


def _near(slots: Sequence[Slot], plan: Plan) -> set[tuple[int, int]] | None:
    """Return the places of lots near those of a plan when all would be too many to search."""
    if sum(len(slot.lots) for slot in slots) <= MOST_WARES:
        return None
    starts: dict[int, list[int]] = {}
    for run in plan:
        for job in run.trays:
            starts.setdefault(job, []).append(run.start)
    return {
        (place, job)
        for place, slot in enumerate(slots)
        for job in slot.lots
        if any(abs(slot.start - start) <= NEAR for start in starts.get(job, ()))
    }
