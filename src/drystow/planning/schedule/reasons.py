"""Why food is left out of a schedule, and which rule stands against a wish."""

import math
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from drystow.messages import Message, msg
from drystow.planning.schedule.cold_storage import DO_NOT_USE, too_old_words
from drystow.planning.schedule.grid import (
    Plan,
    Run,
    ScheduleProblem,
    duration,
    end_of,
    freezer_use,
    in_freezer,
    is_frozen,
    may_start,
    saved_mass,
)
from drystow.planning.schedule.value_search import Solved

RELAXED: dict[str, Callable[[ScheduleProblem], ScheduleProblem]] = {
    "spoils": lambda one: replace(
        one,
        jobs=tuple(replace(job, fresh_until=one.steps) if job.fresh_until >= job.arrival else job for job in one.jobs),
    ),
    "freezer": lambda one: replace(one, freezer=(10**12,) * one.steps),
    "separation": lambda one: _jobs(one, apart=frozenset()),
    "home": lambda one: replace(one, home=(True,) * one.steps),
    "service": lambda one: _machines(one, blocked=()),
    "ready_by": lambda one: _jobs(one, ready_by=one.steps),
    "trap": lambda one: _machines(one, trap=10**9),
}
"""The problem without one of its rules."""

NAMES = {
    "spoils": msg("how long food keeps in the refrigerator"),
    "freezer": msg("the freezer space"),
    "separation": msg("which foods are dried apart"),
    "home": msg("the hours when someone is home"),
    "service": msg("service stops and batches already fixed"),
    "ready_by": msg("the time it is needed by"),
    "trap": msg("what the cold trap holds"),
    "places": msg("the number of trays and days"),
    "never_dry": msg("the program, which does not get it dry"),
    "plan": msg("the length of the plan"),
    "too_old": msg("how long it waited before the plan"),
    "tray_water": msg("what the cold trap holds"),
    "value": msg("its worth"),
    "search": msg("the search time"),
}
"""Rules as a reader knows them."""

FOR_ITSELF = ("never_dry", "plan", "too_old", "tray_water")
"""Rules that keep a lot out whatever else is planned and whatever other rule is set aside."""


@dataclass(frozen=True)
class Reason:
    """Why a lot is not dried, or not all of it.

    job: number of the lot
    mass: that is left out [g]
    rule: one of the keys of `NAMES`
    other: number of the lot that it may not share a batch with, or None
    until: last step at which it could have been loaded; with `ready_by` the first at which it could be ready
    """

    job: int
    mass: int
    rule: str
    other: int | None
    until: int


def left_out(problem: ScheduleProblem, plan: Plan) -> tuple[Reason, ...]:
    """Return why each lot that is not dried whole is left out.

    problem: lots, dryers and rules
    plan: what is dried
    """
    found = []
    for number, job in enumerate(problem.jobs):
        mass = job.mass - saved_mass(problem, plan, number)
        if mass > 0:
            found.append(_reason(problem, plan, number, mass))
    return tuple(found)


def in_the_way(
    problem: ScheduleProblem,
    missed: tuple[int, ...],
    again: Callable[[ScheduleProblem], Solved],
    until: float = math.inf,
) -> dict[int, tuple[str, ...]]:
    """Return, for each wish that is not met, the rules without any one of which all of it would be dried as well.

    Where a longer search alone meets it, that is named in place of rules. A wish without a rule is left out when there
    was no time to ask for every rule, and when it stands back only because other unmet wishes share its trays.

    problem: lots, dryers and rules
    missed: numbers of the jobs that had to be dried whole
    again: solves another problem, quickly
    until: when to stop asking, by the monotonic clock [s]
    """
    wished = {number for number, job in enumerate(problem.jobs) if job.must}
    only = _without(problem, set(range(len(problem.jobs))) - wished)
    longer = _met(only, missed, again) or set()
    found = {number: ["search"] if number in longer else [] for number in missed}
    left = [number for number in missed if number not in longer]
    sharing: set[int] | None = None

    def alone(other: ScheduleProblem, wishes: Iterable[int]) -> set[int]:
        """Return which of some wishes are met beside those that were met before, were they the only one besides."""
        others = ((one, _without(other, set(missed) - {one})) for one in wishes)
        return {one for one, rest in others if time.monotonic() <= until and not again(rest).missed}

    for rule, relax in RELAXED.items() if left else ():
        if time.monotonic() > until:
            break
        met = _met(relax(only), missed, again)
        if met is None:
            sharing = alone(only, left) if sharing is None else sharing
            met = alone(relax(only), [number for number in left if number not in sharing])
        for number in met - longer:
            found[number].append(rule)
    untold = set(missed) if time.monotonic() > until else sharing or set()
    return {number: tuple(rules) for number, rules in found.items() if rules or number not in untold}


def _met(
    problem: ScheduleProblem, missed: tuple[int, ...], again: Callable[[ScheduleProblem], Solved]
) -> set[int] | None:
    """Return which wishes that were missed a problem meets, None when others give way to them."""
    still = set(again(problem).missed)
    return set(missed) - still if still <= set(missed) else None


def _without(problem: ScheduleProblem, out: set[int]) -> ScheduleProblem:
    """Return the problem without some jobs, their numbers kept."""
    gone = (
        replace(job, trays=(0,) * len(job.trays), must=False) if number in out else job
        for number, job in enumerate(problem.jobs)
    )
    return replace(problem, jobs=tuple(gone))


def _jobs(problem: ScheduleProblem, **changes: object) -> ScheduleProblem:
    return replace(problem, jobs=tuple(replace(job, **changes) for job in problem.jobs))  # type: ignore[arg-type]


def _machines(problem: ScheduleProblem, **changes: object) -> ScheduleProblem:
    return replace(problem, machines=tuple(replace(one, **changes) for one in problem.machines))  # type: ignore[arg-type]


def _starts(problem: ScheduleProblem, job: int) -> list[tuple[int, int, int]]:
    """Return dryer, start and end of every batch that one tray of a lot could be in, were nothing else planned."""
    return [
        (machine, start, end)
        for machine in range(len(problem.machines))
        for start in range(problem.steps)
        if (end := end_of(problem, job, machine, start)) is not None and _held(problem, job, machine, start)
    ]


def _held(problem: ScheduleProblem, job: int, machine: int, start: int) -> bool:
    """Return whether trap and freezer hold one tray of a lot that is loaded at a step."""
    lot, dryer = problem.jobs[job], problem.machines[machine]
    if dryer.trap and lot.water[machine] > dryer.trap:
        return False
    waits = (problem.freezer[step] for step in in_freezer(lot, start))
    return 1000 * min(waits, default=10**12) >= lot.room * lot.loads[machine]


def frozen_in_time(problem: ScheduleProblem, job: int) -> bool:
    """Return whether the freezer has had room for one tray of a lot since it came, were nothing else planned."""
    lot = problem.jobs[job]
    if lot.frozen_until < lot.arrival:
        return False
    least = min(lot.room * load for load in lot.loads if load)
    start = min(max(lot.arrival, lot.fresh_until + 1), problem.steps)
    return all(1000 * problem.freezer[step] >= least for step in in_freezer(lot, start))


def _reason(problem: ScheduleProblem, plan: Plan, job: int, mass: int) -> Reason:
    lot, starts = problem.jobs[job], _starts(problem, job)
    if starts:
        rule, other = _beside_others(problem, plan, job, starts)
        return Reason(job, mass, rule, other, max(start for _machine, start, _end in starts))
    rule, until = _alone(problem, job), max(lot.fresh_until, lot.frozen_until)
    if rule == "ready_by":
        until = min(end for _machine, _start, end in _starts(RELAXED[rule](problem), job))
    elif rule != "too_old":
        until = min(until, problem.steps - 1)
    return Reason(job, mass, rule, None, until)


def _alone(problem: ScheduleProblem, job: int) -> str:
    """Return the rule that keeps a lot out although nothing else is planned."""
    lot = problem.jobs[job]
    over = max(lot.fresh_until, lot.frozen_until) < lot.arrival
    if over and lot.came < lot.arrival:
        return "too_old"
    if not any((*lot.fresh, *lot.frozen)):
        return "never_dry"
    if over:
        return "too_old"
    if all(not count or 0 < dryer.trap < water for count, dryer, water in
           zip(lot.trays, problem.machines, lot.water, strict=True)):  # fmt: skip
        return "tray_water"
    for rule in ("home", "service", "ready_by", "freezer", "spoils"):
        if any(may_start(lot, start) for start in range(problem.steps)) and _starts(RELAXED[rule](problem), job):
            return rule
    return "plan"


def _beside_others(
    problem: ScheduleProblem, plan: Plan, job: int, starts: list[tuple[int, int, int]]
) -> tuple[str, int | None]:
    """Return what keeps a lot out of the batches of a plan that it could be in, were it alone."""
    joined = [run for run in plan if any((run.machine, run.start) == (machine, start) for machine, start, _ in starts)]
    roomy = [run for run in joined if sum(run.trays.values()) < problem.machines[run.machine].trays]
    kept = [_keeps_out(problem, plan, job, run) for run in roomy]
    if None in kept:
        return ("search" if problem.jobs[job].price or problem.jobs[job].must else "value"), None
    parted = [found for found in kept if found is not None and found[0] == "separation"]
    for found in (*parted, *kept):
        if found is not None:
            return found
    if not joined and not problem.jobs[job].price and not problem.jobs[job].must:
        return "value", None
    return ("places" if joined else "spoils"), None


def _keeps_out(problem: ScheduleProblem, plan: Plan, job: int, run: Run) -> tuple[str, int | None] | None:
    lot, dryer = problem.jobs[job], problem.machines[run.machine]
    other = next((one for one in run.trays if one in lot.apart), None)
    if other is not None:
        return "separation", other
    water = sum(problem.jobs[one].water[run.machine] * count for one, count in run.trays.items())
    if dryer.trap and water + lot.water[run.machine] > dryer.trap:
        return "trap", None
    if run.start + duration(lot, run.machine, run.start) > run.end:
        return "spoils", None
    more = Run(run.machine, run.start, run.end, {job: 1})
    if is_frozen(lot, run.start) and any(
        freezer_use(problem, [*plan, more], step) > 1000 * problem.freezer[step] for step in problem.freezer_moments
    ):
        return "freezer", None
    return None


def reason_words(reason: Reason, name: str, other: str, until: str) -> Message:
    """Return the reason as a sentence.

    reason: why
    name: of the lot
    other: name of the lot that it may not share a batch with
    until: when it would have had to be loaded, as a date
    """
    if reason.rule == "separation":
        return msg(
            "{name}: a batch it could join has free trays, but it can't share the chamber with {other}",
            name=name,
            other=other,
        )
    sentences = {
        "never_dry": msg("{name}: this program does not get it dry; use a warmer one or thinner pieces", name=name),
        "too_old": too_old_words(name, until, DO_NOT_USE),
        "tray_water": msg(
            "{name}: one full tray holds more water than the cold trap takes; put less on a tray", name=name
        ),
        "plan": msg("{name}: it can't be dry before the plan ends; plan more days", name=name),
        "home": msg("{name}: no one is home to load and unload it while it keeps", name=name),
        "service": msg("{name}: service stops and fixed batches take up the dryers for as long as it keeps", name=name),
        "ready_by": msg("{name}: it can't be ready in time; the earliest is {until}", name=name, until=until),
        "freezer": msg("{name}: it would have to wait in the freezer, where there is no room for it", name=name),
        "trap": msg("{name}: the cold trap is full before the trays are", name=name),
        "places": msg(
            "{name}: no tray space; the batches it could join until {until} are full", name=name, until=until
        ),
        "spoils": msg(
            "{name}: no dryer is free long enough before {until}, the last time it could be loaded",
            name=name,
            until=until,
        ),
        "value": msg("{name}: it is left out only because it has no worth set", name=name),
        "search": msg("{name}: the search found no room for it in the time given; let it search longer", name=name),
    }
    return sentences[reason.rule]
