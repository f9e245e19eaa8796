"""The best schedule with a proven bound: which batch starts when, and how many trays of which lot it takes."""

import math
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any

from drystow.errors import DrystowError
from drystow.planning.greedy import ORDERS, better_order, greedy
from drystow.planning.grid import (
    Plan,
    Problem,
    Run,
    end_of,
    freezer_moments,
    is_frozen,
    plan_cost,
    saved_mass,
    saved_value,
    trimmed,
)
from drystow.planning.structure import canonical, cliques, equal_machines, normal_starts
from drystow.said import say

ORDER_SHARE = 0.15  # of the time, for orders of lots that lead to good plans
VALUE_SHARE = 0.8  # of the time, for what is wished and for value
WISH_SHARE = 0.3  # of that, for what is wished
COST_SHARE = 0.7  # of the rest, for cost; then idle time


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


def load_solver() -> Any:
    """Return the solver's module, or raise `DrystowError` with what to install."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        raise DrystowError(
            say("plans of many batches need one more package; install it with: pip install 'drystow[plan]'")
        ) from None
    return cp_model


def solve(problem: Problem, seconds: float = 20.0, seed: int = 1, workers: int = 2) -> Solved:
    """Return the schedule that saves most food value, then costs least, then leaves dryers idle least.

    problem: lots, dryers and rules on the grid
    seconds: of the search
    seed: of the search; with one worker the same seed gives the same schedule whenever the search ends by itself
    workers: threads of the search
    """
    cp, begin = load_solver(), time.monotonic()
    simple = [greedy(problem, order) for order in ORDERS.values()]
    plans = [canonical(problem, plan) for plan in (*simple, better_order(problem, begin + seconds * ORDER_SHARE, seed))]
    few = [normal_starts(problem, machine) for machine in range(len(problem.machines))]
    plan, bound = _Search(problem, cp, begin + seconds * VALUE_SHARE, seed, workers, few).most_value(plans)
    every = [range(problem.steps)] * len(problem.machines)
    plan = _Search(problem, cp, begin + seconds, seed, workers, every).cheapest(plan)
    missed = (n for n, job in enumerate(problem.jobs) if job.must and saved_mass(problem, plan, n) < job.mass)
    saved = saved_value(problem, plan)
    return Solved(plan, saved, max(bound, saved), tuple(missed))


class _Search:
    """The model, solved for one aim after the other; what is reached is kept."""

    def __init__(
        self, problem: Problem, cp: Any, until: float, seed: int, workers: int, starts: Sequence[Iterable[int]]
    ) -> None:
        self.problem, self.cp, self.until = problem, cp, until
        self.solver = cp.CpSolver()
        self.solver.parameters.random_seed = seed
        self.solver.parameters.num_workers = workers
        self.solver.parameters.linearization_level = 2  # the bound comes from the linear relaxation
        self.solver.parameters.cp_model_probing_level = 0  # takes seconds and finds nothing here
        self.model = cp.CpModel()
        self.runs: dict[tuple[int, int, int], Any] = {}  # machine, start, end -> batch or not
        self.trays: dict[tuple[int, int, int], Any] = {}  # machine, start, job -> trays
        self.sides: dict[tuple[int, int, int], Any] = {}  # machine, start, class of jobs -> in the batch or not
        self.classes: dict[frozenset[int], int] = {}
        self.saved: list[Any] = []
        self.lasts: list[Any] = []
        for machine in range(len(problem.machines)):
            for start in sorted(starts[machine]):
                self._one_start(machine, start)
            self._one_at_a_time(machine)
        self._lots()
        self._freezer()
        for group in equal_machines(problem):
            for one, other in pairwise(group):
                self.model.add(self._used(one) >= self._used(other))

    def _used(self, machine: int) -> Any:
        return sum(var for (number, _start, _job), var in self.trays.items() if number == machine)

    def _one_start(self, machine: int, start: int) -> None:
        problem, model = self.problem, self.model
        ends = {job: end_of(problem, job, machine, start) for job in range(len(problem.jobs))}
        lots = {job: end for job, end in ends.items() if end is not None}
        if not lots:
            return
        dryer = problem.machines[machine]
        runs = {end: model.new_bool_var(f"b{machine}.{start}.{end}") for end in sorted(set(lots.values()))}
        trays = {
            job: model.new_int_var(0, min(dryer.trays, problem.jobs[job].trays[machine]), f"t{machine}.{start}.{job}")
            for job in lots
        }
        self.runs |= {(machine, start, end): run for end, run in runs.items()}
        self.trays |= {(machine, start, job): count for job, count in trays.items()}
        for end in runs:  # trays that need at least so long fit only into batches of at least that length
            slow = [trays[job] for job, own in lots.items() if own >= end]
            model.add(sum(slow) <= dryer.trays * sum(run for other, run in runs.items() if other >= end))
        if sum(problem.jobs[job].water[machine] for job in lots) and dryer.trap:
            water = sum(problem.jobs[job].water[machine] * count for job, count in trays.items())
            model.add(water <= dryer.trap * sum(runs.values()))
        for job, count in trays.items():
            early = [run for end, run in runs.items() if end <= problem.jobs[job].ready_by]
            if len(early) < len(runs):
                model.add(count <= dryer.trays * sum(early))
        self._apart(machine, start, trays, sum(runs.values()))

    def _apart(self, machine: int, start: int, trays: dict[int, Any], any_run: Any) -> None:
        jobs, dryer = self.problem.jobs, self.problem.machines[machine]
        members: dict[int, list[int]] = {}
        for job in trays:
            kind = self.classes.setdefault(jobs[job].apart, len(self.classes))
            members.setdefault(kind, []).append(job)
        pairs = [
            (one, other)
            for one, other in combinations(members, 2)
            if any(job in jobs[members[other][0]].apart for job in members[one])
            or any(job in jobs[members[one][0]].apart for job in members[other])
        ]
        sides = {}
        for kind in sorted({kind for pair in pairs for kind in pair}):
            sides[kind] = self.model.new_bool_var(f"s{machine}.{start}.{kind}")
            self.sides[machine, start, kind] = sides[kind]
            self.model.add(sum(trays[job] for job in members[kind]) <= dryer.trays * sides[kind])
        for group in cliques(list(sides), pairs):
            self.model.add(sum(sides[kind] for kind in group) <= any_run)

    def _one_at_a_time(self, machine: int) -> None:
        turnaround = self.problem.machines[machine].turnaround
        own = [(start, end, run) for (number, start, end), run in self.runs.items() if number == machine]
        for step in sorted({start for start, _end, _run in own}):
            self.model.add_at_most_one(run for start, end, run in own if start <= step < end + turnaround)

    def _lots(self) -> None:
        for number, job in enumerate(self.problem.jobs):
            saved = self.model.new_int_var(0, job.mass, f"g{number}")
            own = [(machine, var) for (machine, _start, lot), var in self.trays.items() if lot == number]
            self.model.add(saved <= sum(job.loads[machine] * var for machine, var in own))
            for machine in {machine for machine, _var in own}:
                self.model.add(sum(var for other, var in own if other == machine) <= job.trays[machine])
            if len({job.trays[machine] for machine, _var in own}) == 1:
                self.model.add(sum(var for _machine, var in own) <= max(job.trays))
            self.saved.append(saved)

    def _freezer(self) -> None:
        jobs = self.problem.jobs
        for step in freezer_moments(self.problem):
            waiting = [
                jobs[job].room * jobs[job].loads[machine] * var
                for (machine, start, job), var in self.trays.items()
                if jobs[job].room and is_frozen(jobs[job], start) and jobs[job].arrival <= step < start
            ]
            if waiting:
                self.model.add(sum(waiting) <= 1000 * self.problem.freezer[step])

    def most_value(self, plans: Sequence[Plan]) -> tuple[tuple[Run, ...], int]:
        """Return the plan that saves most, what is wished first, and the bound of the value."""
        wished = self._wished_jobs()
        best = max(plans, key=lambda one: (self._wished(one, wished), saved_value(self.problem, one)))
        plan = tuple(best)
        if not self.trays:
            return (), 0
        if wished:
            self.model.maximize(sum(self.saved[number] for number in wished))
            plan, _bound = self._next(plan, WISH_SHARE)
            self.model.add(sum(self.saved[number] for number in wished) >= self._wished(plan, wished))
        self.model.maximize(self._value())
        plan, bound = self._next(plan, 1.0)
        top = sum(job.price * job.mass for job in self.problem.jobs)
        return plan, min(math.floor(min(bound, top) + 0.5), top)

    def cheapest(self, plan: tuple[Run, ...]) -> tuple[Run, ...]:
        """Return a plan that saves as much as the one given, costs least, and then leaves dryers idle least."""
        wished = self._wished_jobs()
        if not plan:
            return plan
        if wished:
            self.model.add(sum(self.saved[number] for number in wished) >= self._wished(plan, wished))
        self.model.add(self._value() >= saved_value(self.problem, plan))
        machines = self.problem.machines
        cost = sum(sum(machines[number].costs[start:end]) * run for (number, start, end), run in self.runs.items())
        self.model.minimize(cost)
        plan, _bound = self._next(plan, COST_SHARE)
        self.model.add(cost <= plan_cost(self.problem, plan))
        self.model.minimize(self._idle())
        plan, _bound = self._next(plan, 1.0)
        return plan

    def _value(self) -> Any:
        return sum(job.price * saved for job, saved in zip(self.problem.jobs, self.saved, strict=True))

    def _wished_jobs(self) -> list[int]:
        return [number for number, job in enumerate(self.problem.jobs) if job.must]

    def _wished(self, plan: Plan, wished: Sequence[int]) -> int:
        return sum(saved_mass(self.problem, plan, number) for number in wished)

    def _idle(self) -> Any:
        for machine in range(len(self.problem.machines)):
            last = self.model.new_int_var(0, self.problem.steps, f"l{machine}")
            self.lasts.append(last)
            for (number, _start, end), run in self.runs.items():
                if number == machine:
                    self.model.add(last >= end * run)
        return sum(self.lasts) - sum((end - start) * run for (_m, start, end), run in self.runs.items())

    def _next(self, plan: Plan, share: float) -> tuple[tuple[Run, ...], float]:
        """Return a plan at least as good as the one given for the model's aim, and the bound of the aim."""
        self._hint(plan)
        self.solver.parameters.max_time_in_seconds = max((self.until - time.monotonic()) * share, 0.2)
        status = self.solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return tuple(plan), math.inf  # nothing is known yet
        return self._read(), self.solver.best_objective_bound

    def _hint(self, plan: Plan) -> None:
        jobs = self.problem.jobs
        chosen = {(run.machine, run.start, run.end) for run in plan}
        trays = {(run.machine, run.start, job): count for run in plan for job, count in run.trays.items()}
        sides = {(machine, start, self.classes[jobs[job].apart]) for machine, start, job in trays}
        self.model.clear_hints()
        for key, var in self.runs.items():
            self.model.add_hint(var, key in chosen)
        for key, var in self.trays.items():
            self.model.add_hint(var, trays.get(key, 0))
        for key, var in self.sides.items():
            self.model.add_hint(var, key in sides)
        for number, var in enumerate(self.saved):
            self.model.add_hint(var, saved_mass(self.problem, plan, number))
        for machine, var in enumerate(self.lasts):
            self.model.add_hint(var, max((run.end for run in plan if run.machine == machine), default=0))

    def _read(self) -> tuple[Run, ...]:
        found = []
        for (machine, start, end), run in self.runs.items():
            if self.solver.value(run):
                own = {job: var for (m, s, job), var in self.trays.items() if (m, s) == (machine, start)}
                trays = {job: count for job, var in own.items() if (count := self.solver.value(var))}
                if trays:
                    found.append(trimmed(self.problem, Run(machine, start, end, trays)))
        return tuple(sorted(found, key=lambda run: (run.start, run.machine)))
