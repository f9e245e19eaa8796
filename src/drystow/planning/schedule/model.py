"""The schedule as a model of the solver: how many batches stand in each slot, and how many trays of which lot."""

import math
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from drystow.errors import DrystowError
from drystow.messages import msg
from drystow.planning.schedule.grid import (
    Plan,
    Run,
    ScheduleProblem,
    duration,
    in_freezer,
    saved_mass,
    trimmed,
)
from drystow.planning.schedule.structure import (
    Slot,
    canonical,
    cliques,
)

PATIENCE = 600.0  # even a search that counts its steps ends then [s]
STEADY = 1.0  # the solver's own units of work that take about a second


@dataclass(frozen=True)
class Effort:
    """Of one search.

    seconds: of it
    seed: of it
    workers: threads
    steady: time is counted in steps of work, so that the same seed gives the same plan
    """

    seconds: float
    seed: int
    workers: int
    steady: bool


@dataclass(frozen=True)
class SolverAnswer:
    """Of one search.

    plan: best found
    bound: nothing in the model is better for its aim
    proven: the search ended by itself
    """

    plan: tuple[Run, ...]
    bound: float
    proven: bool


def load_solver() -> Any:
    """Return the solver's module, or raise `DrystowError` with what to install."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        raise DrystowError(
            msg("plans of many batches need one more Python package; install it with: pip install 'drystow[plan]'")
        ) from None
    return cp_model


class Model:
    """The solver's model of some slots.

    problem: lots, dryers and rules
    groups: numbers of equal dryers
    slots: places for batches that may be used
    wares: (place in `slots`, job) that may be used; None: all
    """

    def __init__(
        self,
        problem: ScheduleProblem,
        groups: Sequence[Sequence[int]],
        slots: Sequence[Slot],
        wares: Collection[tuple[int, int]] | None = None,
    ) -> None:
        self.problem, self.groups, self.slots = problem, groups, slots
        self.cp = load_solver()
        self.model, self.solver = self.cp.CpModel(), self.cp.CpSolver()
        self.runs: list[tuple[int, Any]] = []  # place in slots, batches there
        self.most: list[int] = []  # beside the runs: batches there at most
        self.lasts: list[Any] = []  # last unloading, per group
        self.trays: list[dict[int, Any]] = []  # beside the runs: job -> trays
        self.sides: list[dict[frozenset[int], Any]] = []  # beside the runs: jobs of a kind -> in the batch or not
        for place, slot in enumerate(slots):
            lots = [job for job in slot.lots if wares is None or (place, job) in wares]
            alone = slot.mixed or slot.dripping
            for _copy in groups[slot.group] if alone else groups[slot.group][:1] if lots else ():
                self._batch(place, lots, 1 if alone else len(groups[slot.group]))
        self._at_one_time()
        self.saved = [self._saved(number) for number in range(len(problem.jobs))]
        self._freezer()

    def _batch(self, place: int, lots: Sequence[int], most: int) -> None:
        slot, jobs, model = self.slots[place], self.problem.jobs, self.model
        machine = self.groups[slot.group][0]
        run = model.new_int_var(0, most, "")
        caps = {job: min(slot.places, jobs[job].trays[machine]) for job in lots}
        trays = {job: model.new_int_var(0, most * cap, "") for job, cap in caps.items()}
        for job, count in trays.items():
            model.add(count <= caps[job] * run)
        model.add(sum(trays.values()) <= slot.places * run)
        if slot.dripping:
            water = sum(jobs[job].water[machine] * count for job, count in trays.items())
            model.add(water <= self.problem.machines[machine].trap * run)
        self.runs.append((place, run))
        self.most.append(most)
        self.trays.append(trays)
        self.sides.append(self._apart(trays, run, slot.places) if slot.mixed else {})

    def _apart(self, trays: dict[int, Any], run: Any, places: int) -> dict[frozenset[int], Any]:
        jobs = self.problem.jobs
        members: dict[frozenset[int], list[int]] = {}
        for job in trays:
            members.setdefault(jobs[job].apart, []).append(job)
        kinds = list(members)
        pairs = [
            (one, other)
            for one, other in combinations(range(len(kinds)), 2)
            if any(job in kinds[other] for job in members[kinds[one]])
            or any(job in kinds[one] for job in members[kinds[other]])
        ]
        sides = {kind: self.model.new_bool_var("") for kind in kinds}
        for kind, side in sides.items():
            self.model.add(sum(trays[job] for job in members[kind]) <= places * side)
        for group in cliques(list(range(len(kinds))), pairs):
            self.model.add(sum(sides[kinds[number]] for number in group) <= run)
        return sides

    def _at_one_time(self) -> None:
        for group, members in enumerate(self.groups):
            turnaround = self.problem.machines[members[0]].turnaround
            own = [(self.slots[place], run) for place, run in self.runs if self.slots[place].group == group]
            for step in sorted({slot.start for slot, _run in own}):
                during = [run for slot, run in own if slot.start <= step < slot.end + turnaround]
                self.model.add(sum(during) <= len(members))

    def _saved(self, number: int) -> Any:
        job = self.problem.jobs[number]
        own = [
            (self.groups[self.slots[place].group][0], trays[number])
            for (place, _run), trays in zip(self.runs, self.trays, strict=True)
            if number in trays
        ]
        saved = self.model.new_int_var(0, job.mass, "")
        self.model.add(saved <= sum(job.loads[machine] * count for machine, count in own))
        for machine in {machine for machine, _count in own}:
            self.model.add(sum(count for one, count in own if one == machine) <= job.trays[machine])
        if len({job.trays[machine] for machine, _count in own}) == 1:
            self.model.add(sum(count for _machine, count in own) <= max(job.trays))
        return saved

    def _freezer(self) -> None:
        jobs = self.problem.jobs
        for step in self.problem.freezer_moments:
            waiting = []
            for (place, _run), trays in zip(self.runs, self.trays, strict=True):
                slot = self.slots[place]
                machine = self.groups[slot.group][0]
                waiting += [
                    jobs[job].room * jobs[job].loads[machine] * count
                    for job, count in trays.items()
                    if jobs[job].room and step in in_freezer(jobs[job], slot.start)
                ]
            if waiting:
                self.model.add(sum(waiting) <= 1000 * self.problem.freezer[step])

    def value(self, prices: Sequence[int]) -> Any:
        """Return the worth of what is dried, at prices of a kilogram [1/1000 of their unit]."""
        return sum(price * saved for price, saved in zip(prices, self.saved, strict=True))

    def cost(self) -> Any:
        """Return what the electricity costs [1/100 cent]."""
        costs = self.problem.machines
        slots = ((self.slots[place], run) for place, run in self.runs)
        return sum(sum(costs[self.groups[slot.group][0]].costs[slot.start : slot.end]) * run for slot, run in slots)

    def idle(self) -> Any:
        """Return for how many steps dryers, each a group, stand idle before they are unloaded for the last time."""
        self.lasts = [self.model.new_int_var(0, self.problem.steps, "") for _group in self.groups]
        busy = []
        for place, run in self.runs:
            slot = self.slots[place]
            self.model.add(self.lasts[slot.group] >= slot.end * run)
            busy.append((slot.end - slot.start) * run)
        return sum(self.lasts) - sum(busy)

    def solve(self, plan: Plan, effort: Effort) -> SolverAnswer:
        """Return a plan at least as good for the model's aim as the one given, and the bound of the aim.

        plan: known
        effort: of the search
        """
        self._hint(plan)
        solver, parameters = self.solver, self.solver.parameters
        parameters.random_seed, parameters.num_workers = effort.seed, effort.workers
        parameters.linearization_level = 2  # the bound comes from the linear relaxation
        parameters.cp_model_probing_level = 0  # takes seconds and finds nothing here
        parameters.max_time_in_seconds = max(effort.seconds, 0.05)
        if effort.steady:
            parameters.max_deterministic_time = max(effort.seconds * STEADY, 0.05)
            parameters.max_time_in_seconds = PATIENCE
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            none = status == self.cp.INFEASIBLE  # nothing better
            return SolverAnswer(tuple(plan), -math.inf if none else math.inf, none)
        return SolverAnswer(self._read(solver), solver.best_objective_bound, status == self.cp.OPTIMAL)

    def stop(self) -> None:
        """End the search, from another thread."""
        self.solver.stop_search()

    def _hint(self, plan: Plan) -> None:
        free: dict[tuple[int, int, int], list[int]] = {}
        for number, (place, _run) in enumerate(self.runs):
            slot = self.slots[place]
            free.setdefault((slot.group, slot.start, slot.end), []).append(number)
        group_of = {machine: group for group, members in enumerate(self.groups) for machine in members}
        chosen: dict[int, list[Run]] = {}
        for run in plan:
            for number in free.get((group_of[run.machine], run.start, run.end), []):
                if set(run.trays) <= set(self.trays[number]) and len(chosen.get(number, [])) < self.most[number]:
                    chosen.setdefault(number, []).append(run)
                    break
        self.model.clear_hints()
        for number, (_place, run) in enumerate(self.runs):
            inside = chosen.get(number, [])
            self.model.add_hint(run, len(inside))
            for job, count in self.trays[number].items():
                self.model.add_hint(count, sum(one.trays.get(job, 0) for one in inside))
            for kind, side in self.sides[number].items():
                jobs = self.problem.jobs
                self.model.add_hint(side, any(jobs[job].apart == kind for one in inside for job in one.trays))
        for number, saved in enumerate(self.saved):
            self.model.add_hint(saved, saved_mass(self.problem, plan, number))
        for group, last in enumerate(self.lasts):
            self.model.add_hint(last, max((run.end for run in plan if group_of[run.machine] == group), default=0))

    def _read(self, solver: Any) -> tuple[Run, ...]:
        batches: list[tuple[int, Run]] = []
        for (place, run), trays in zip(self.runs, self.trays, strict=True):
            if solver.value(run):
                inside = {job: count for job, var in trays.items() if (count := solver.value(var))}
                batches += [(self.slots[place].group, one) for one in self._dealt(self.slots[place], inside)]
        ready = dict.fromkeys(range(len(self.problem.machines)), 0)
        found = []
        for group, run in sorted(batches, key=lambda one: one[1].start):
            machine = next(number for number in self.groups[group] if ready[number] <= run.start)
            ready[machine] = run.end + self.problem.machines[machine].turnaround
            found.append(Run(machine, run.start, run.end, run.trays))
        return canonical(self.problem, found)

    def _dealt(self, slot: Slot, trays: dict[int, int]) -> list[Run]:
        """Return the batches of a slot: what dries longest goes together."""
        machine = self.groups[slot.group][0]
        jobs = sorted(trays, key=lambda job: -duration(self.problem.jobs[job], machine, slot.start))
        each = [job for job in jobs for _tray in range(trays[job])]
        parts = [each[begin : begin + slot.places] for begin in range(0, len(each), slot.places)]
        return [trimmed(self.problem, Run(machine, slot.start, slot.end, dict(Counter(part)))) for part in parts]
