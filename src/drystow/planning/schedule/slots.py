"""Where batches can stand: loading and unloading times of a group of equal dryers, and which lots go together there."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from drystow.planning.schedule.grid import ScheduleProblem, end_of

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
        for lots, mixed in together(problem, dry):
            water = sorted(jobs[job].water[machine] for job in lots)
            places = dryer.trays if not water[0] else min(dryer.trays, dryer.trap // water[0])
            if places and any(ends[job] == end for job in lots):
                yield Slot(group, start, end, places, lots, mixed, water[-1] * places > dryer.trap)


def together(problem: ScheduleProblem, lots: Sequence[int]) -> list[tuple[tuple[int, ...], bool]]:
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
