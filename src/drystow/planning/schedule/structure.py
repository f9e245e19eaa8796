"""What makes the search shorter: equal dryers, groups that exclude each other, loading times that suffice."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from drystow.planning.schedule.grid import (
    Plan,
    Run,
    ScheduleProblem,
    end_of,
    freezer_use,
    idle_steps,
    plan_cost,
    run_cost,
    saved_value,
    unloading,
)


def normal_starts(problem: ScheduleProblem, machine: int) -> set[int]:
    """Return the loading times among which are those of a plan that saves as much as any.

    Every batch of a plan can be moved to an earlier step, and loses nothing, until one of its lots arrives or would
    come from the refrigerator in place of the freezer, or until the dryer is taken.
    """
    dryer = problem.machines[machine]
    waiting = [0, *(job.arrival for job in problem.jobs), *(job.fresh_until + 1 for job in problem.jobs)]
    waiting += [until for _begin, until in dryer.blocked]
    found: set[int] = set()
    while waiting:
        start = unloading(problem, max(waiting.pop(), 0))
        if start is None or start in found:
            continue
        found.add(start)
        ends = {end_of(problem, job, machine, start) for job in range(len(problem.jobs))}
        waiting += [end + dryer.turnaround for end in ends if end is not None]
    return found


def canonical(problem: ScheduleProblem, plan: Plan) -> tuple[Run, ...]:
    """Return the same plan with equal dryers in order: the one that dries more trays comes first."""
    renamed = list(range(len(problem.machines)))
    for group in equal_machines(problem):
        used = {number: sum(sum(run.trays.values()) for run in plan if run.machine == number) for number in group}
        for place, number in zip(group, sorted(group, key=lambda one: -used[one]), strict=True):
            renamed[number] = place
    runs = (Run(renamed[run.machine], run.start, run.end, run.trays) for run in plan)
    return tuple(sorted(runs, key=lambda run: (run.start, run.machine)))


def moved_up(problem: ScheduleProblem, plan: Plan) -> tuple[Run, ...]:
    """Return the plan with each batch loaded as soon as its food, its dryer and a person are there.

    The same food is saved at no higher cost, and the dryers stand idle no longer.
    """
    runs = sorted(plan, key=lambda run: (run.start, run.machine))
    for place, run in enumerate(runs):
        others = [*runs[:place], *runs[place + 1 :]]
        for start in range(run.start):
            sooner = _loaded_at(problem, run, start)
            if sooner is None or not _fits(problem, sooner, others):
                continue
            moved = [*others, sooner]
            if run_cost(problem, sooner) <= run_cost(problem, run) and idle_steps(problem, moved) <= idle_steps(
                problem, runs
            ):
                runs[place] = sooner
                break
    return tuple(sorted(runs, key=lambda run: (run.start, run.machine)))


def _loaded_at(problem: ScheduleProblem, run: Run, start: int) -> Run | None:
    """Return the same batch loaded at another step, None when it cannot be."""
    ends = [end_of(problem, job, run.machine, start) for job in run.trays]
    if None in ends:
        return None
    last = max(end for end in ends if end is not None)
    return None if any(last > problem.jobs[job].ready_by for job in run.trays) else replace(run, start=start, end=last)


def _fits(problem: ScheduleProblem, run: Run, others: Plan) -> bool:
    """Return whether dryer and freezer have room for a batch beside others."""
    turnaround = problem.machines[run.machine].turnaround
    if any(
        one.machine == run.machine and run.start < one.end + turnaround and one.start < run.end + turnaround
        for one in others
    ):
        return False
    plan = [*others, run]
    return all(freezer_use(problem, plan, step) <= 1000 * problem.freezer[step] for step in problem.freezer_moments)


def equal_machines(problem: ScheduleProblem) -> list[list[int]]:
    """Return the groups of dryers that no rule can tell apart; each dryer is in one, perhaps alone."""
    groups: dict[object, list[int]] = {}
    for number, machine in enumerate(problem.machines):
        per_job = tuple(
            (job.loads[number], job.trays[number], job.fresh[number], job.frozen[number], job.water[number])
            for job in problem.jobs
        )
        same = (machine.trays, machine.trap, machine.turnaround, machine.blocked, machine.costs, per_job)
        groups.setdefault(same, []).append(number)
    return list(groups.values())


def cliques(nodes: Sequence[int], pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Return groups of nodes that are all joined among themselves, so that each pair is in one."""
    joined = {node: set[int]() for node in nodes}
    left = set()
    for one, other in pairs:
        joined[one].add(other)
        joined[other].add(one)
        left.add((min(one, other), max(one, other)))
    found = []
    while left:
        group = list(min(left))
        for node in nodes:
            if node not in group and joined[node].issuperset(group):
                group.append(node)
        left -= {(min(pair), max(pair)) for pair in combinations(group, 2)}
        found.append(group)
    return found


def measures(problem: ScheduleProblem, plan: Plan) -> tuple[int, int, int]:
    """Return value, cost and idle steps of a plan, the three aims in their order."""
    return saved_value(problem, plan), plan_cost(problem, plan), idle_steps(problem, plan)


MOST_WAYS = 12  # largest sets of lots that may share a batch, up to which each is a place of its own


@dataclass(frozen=True)
class Slot:
    """A place for a batch; its lots are those that are dry by its end, and at least one needs all of its time.

    group: number of the group of equal dryers
    start: step of loading
    end: step of unloading
    places: trays that fit, by number and by the water of the least wet ones
    lots: numbers of the jobs that may be in it
    mixed: some of them may not be together
    dripping: some loads that fit by number are too wet for the vapour trap
    """

    group: int
    start: int
    end: int
    places: int
    lots: tuple[int, ...]
    mixed: bool
    dripping: bool


def slots_of(problem: ScheduleProblem, groups: Sequence[Sequence[int]], starts: Sequence[Iterable[int]]) -> list[Slot]:
    """Return all places for batches, earlier ones first.

    problem: lots, dryers and rules
    groups: numbers of dryers that no rule can tell apart
    starts: steps at which a batch may be loaded, per group
    """
    found: list[Slot] = []
    for group, own in enumerate(starts):
        for start in sorted(own):
            found += _at(problem, group, groups[group][0], start)
    return found


def _at(problem: ScheduleProblem, group: int, machine: int, start: int) -> Iterator[Slot]:
    jobs, dryer = problem.jobs, problem.machines[machine]
    ends = {job: end for job in range(len(jobs)) if (end := end_of(problem, job, machine, start)) is not None}
    for end in sorted(set(ends.values())):
        dry = [job for job, own in ends.items() if own <= end <= jobs[job].ready_by]
        for lots, mixed in largest_sets(problem, dry):
            water = sorted(jobs[job].water[machine] for job in lots)
            places = dryer.trays if not water[0] else min(dryer.trays, dryer.trap // water[0])
            if places and any(ends[job] == end for job in lots):
                yield Slot(group, start, end, places, lots, mixed, water[-1] * places > dryer.trap)


def largest_sets(problem: ScheduleProblem, lots: Sequence[int]) -> list[tuple[tuple[int, ...], bool]]:
    """Return the largest sets of lots that may share a batch; when they are too many, all lots, marked as mixed."""
    kinds: dict[frozenset[int], list[int]] = {}
    for job in lots:
        kinds.setdefault(problem.jobs[job].apart, []).append(job)
    members = list(kinds.values())
    apart = {number: set[int]() for number in range(len(members))}
    for one, other in combinations(range(len(members)), 2):
        jobs = problem.jobs
        if any(job in jobs[members[other][0]].apart for job in members[one]) or any(
            job in jobs[members[one][0]].apart for job in members[other]
        ):
            apart[one].add(other)
            apart[other].add(one)
    sets: list[frozenset[int]] = [frozenset()]
    for kind in apart:  # each set with the kind, and each as it is where the kind would push another out
        wider = {one - apart[kind] | {kind} for one in sets} | {one for one in sets if one & apart[kind]}
        sets = [one for one in wider if not any(one < other for other in wider)]
        if len(sets) > MOST_WAYS:
            return [(tuple(lots), True)]
    return sorted((tuple(sorted(job for kind in one for job in members[kind])), False) for one in sets)
