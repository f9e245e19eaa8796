"""Why food is left out of a schedule, and which rule stands against a wish."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from drystow.planning.grid import (
    Plan,
    Problem,
    Run,
    duration,
    end_of,
    freezer_moments,
    freezer_use,
    is_frozen,
    may_start,
    saved_mass,
)
from drystow.planning.solver import Solved
from drystow.said import Said, say

RELAXED: dict[str, Callable[[Problem], Problem]] = {
    "spoils": lambda one: _jobs(one, fresh_until=one.steps),
    "freezer": lambda one: replace(one, freezer=(10**12,) * one.steps),
    "separation": lambda one: _jobs(one, apart=frozenset()),
    "home": lambda one: replace(one, home=(True,) * one.steps),
    "service": lambda one: _machines(one, blocked=()),
    "ready_by": lambda one: _jobs(one, ready_by=one.steps),
    "trap": lambda one: _machines(one, trap=10**9),
}
"""The problem without one of its rules."""

NAMES = {
    "spoils": say("how long food keeps in the refrigerator"),
    "freezer": say("the space in the freezer"),
    "separation": say("which foods are dried apart"),
    "home": say("the hours in which somebody is home"),
    "service": say("service stops and batches that are already fixed"),
    "ready_by": say("the wished time of being ready"),
    "trap": say("what the vapour trap holds"),
    "places": say("the number of trays and days"),
    "never_dry": say("the program, which does not dry it"),
    "plan": say("the days of the plan"),
    "too_old": say("how long it has waited before the plan"),
}
"""Rules as a reader knows them."""


@dataclass(frozen=True)
class Reason:
    """Why a lot is not dried, or not all of it.

    job: number of the lot
    mass: that is left out [g]
    rule: one of the keys of `NAMES`
    other: number of the lot that it may not share a batch with, or None
    until: last step at which it could have been loaded
    """

    job: int
    mass: int
    rule: str
    other: int | None
    until: int


def left_out(problem: Problem, plan: Plan) -> tuple[Reason, ...]:
    """Return why each lot that is not dried whole is left out.

    problem: lots, dryers and rules
    plan: what is dried
    """
    found = []
    for number, job in enumerate(problem.jobs):
        mass = job.mass - saved_mass(problem, plan, number)
        if mass > 0:
            rule, other = _rule(problem, plan, number)
            found.append(
                Reason(number, mass, rule, other, min(max(job.fresh_until, job.frozen_until), problem.steps - 1))
            )
    return tuple(found)


def in_the_way(
    problem: Problem, missed: tuple[int, ...], again: Callable[[Problem], Solved]
) -> dict[int, tuple[str, ...]]:
    """Return, for each wish that is not met, the rules without any one of which all of it would be dried.

    problem: lots, dryers and rules
    missed: numbers of the jobs that had to be dried whole
    again: solves another problem, quickly
    """
    only = replace(
        problem, jobs=tuple(job if job.must else replace(job, trays=(0,) * len(job.trays)) for job in problem.jobs)
    )
    found: dict[int, list[str]] = {number: [] for number in missed}
    for rule, relax in RELAXED.items():
        met = set(missed) - set(again(relax(only)).missed)
        for number in met:
            found[number].append(rule)
    return {number: tuple(rules) for number, rules in found.items()}


def _jobs(problem: Problem, **changes: object) -> Problem:
    return replace(problem, jobs=tuple(replace(job, **changes) for job in problem.jobs))  # type: ignore[arg-type]


def _machines(problem: Problem, **changes: object) -> Problem:
    return replace(problem, machines=tuple(replace(one, **changes) for one in problem.machines))  # type: ignore[arg-type]


def _starts(problem: Problem, job: int) -> list[tuple[int, int, int]]:
    """Return dryer, start and end of every batch that a lot could be in."""
    return [
        (machine, start, end)
        for machine in range(len(problem.machines))
        for start in range(problem.steps)
        if (end := end_of(problem, job, machine, start)) is not None
    ]


def _rule(problem: Problem, plan: Plan, job: int) -> tuple[str, int | None]:
    lot = problem.jobs[job]
    if not any((*lot.fresh, *lot.frozen)):
        return "never_dry", None
    starts = _starts(problem, job)
    if not starts:
        if max(lot.fresh_until, lot.frozen_until) < lot.arrival:
            return "too_old", None
        if not any(may_start(lot, start) for start in range(problem.steps)):
            return "plan", None
        for rule in ("home", "service", "ready_by"):
            if _starts(RELAXED[rule](problem), job):
                return rule, None
        return "plan", None
    if all(is_frozen(lot, start) for _machine, start, _end in starts) and not max(problem.freezer):
        return "freezer", None
    joined = [run for run in plan if any((run.machine, run.start) == (machine, start) for machine, start, _ in starts)]
    roomy = [run for run in joined if sum(run.trays.values()) < problem.machines[run.machine].trays]
    kept: tuple[str, int | None] | None = None
    for run in roomy:
        found = _keeps_out(problem, plan, job, run)
        if found is not None and (kept is None or kept[0] != "separation"):
            kept = found
    if kept is not None:
        return kept
    return ("places" if joined else "spoils"), None


def _keeps_out(problem: Problem, plan: Plan, job: int, run: Run) -> tuple[str, int | None] | None:
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
        freezer_use(problem, [*plan, more], step) > 1000 * problem.freezer[step] for step in freezer_moments(problem)
    ):
        return "freezer", None
    return None


def reason_words(reason: Reason, name: str, other: str, until: str) -> Said:
    """Return the reason as a sentence.

    reason: why
    name: of the lot
    other: name of the lot that it may not share a batch with
    until: when it would have had to be loaded, as a date
    """
    if reason.rule == "separation":
        return say(
            "{name}: a batch that it could join has trays free, but it may not share the chamber with {other}",
            name=name,
            other=other,
        )
    sentences = {
        "never_dry": say(
            "{name}: with this program it does not get dry; use a warmer one or thinner pieces", name=name
        ),
        "too_old": say(
            "{name}: it has waited too long, it had to be dried or frozen before {until}; throw out what may have"
            " spoiled",
            name=name,
            until=until,
        ),
        "plan": say("{name}: it could not be dry before the plan ends; plan more days", name=name),
        "home": say("{name}: nobody is home to load and unload it before it spoils", name=name),
        "service": say("{name}: service stops and fixed batches take the dryers until it spoils", name=name),
        "ready_by": say("{name}: it cannot be ready by the wished time", name=name),
        "freezer": say("{name}: it would have to wait in the freezer, which has no space for it", name=name),
        "trap": say("{name}: the vapour trap is full before the trays are", name=name),
        "places": say(
            "{name}: no tray space; the batches that it could join until {until} are full of food worth more",
            name=name,
            until=until,
        ),
        "spoils": say("{name}: it spoils ({until}) before a dryer is free long enough for it", name=name, until=until),
    }
    return sentences[reason.rule]
