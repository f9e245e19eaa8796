"""What is not dried and why, what to know of a schedule, and what of each lot lies in which batch."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from drystow.days import day_text
from drystow.messages import Message, listed, msg
from drystow.planning.schedule import reasons
from drystow.planning.schedule.arrivals import ArrivingLot, Lots
from drystow.planning.schedule.cold_storage import LOOK, too_old_words, verdict_on
from drystow.planning.schedule.grid import KeptFood, Plan, Run, ScheduleProblem, at_step, is_frozen, saved_mass
from drystow.planning.schedule.value_search import Solved
from drystow.planning.separation import cautions
from drystow.shown import FREEZER, REFRIGERATOR

NOTHING = 5e-4
"""Less than what a gram is rounded to [kg]. Source: definition."""


@dataclass(frozen=True)
class Masses:
    """Fresh food, by kilogram.

    inside: of each lot in each batch, beside the plan: number of the lot -> mass [kg]
    left: of each lot that is in no batch, those that are kept included [kg]
    """

    inside: tuple[Mapping[int, float], ...]
    left: tuple[float, ...]


def masses_of(lots: Lots, problem: ScheduleProblem, plan: Plan, kept: KeptFood) -> Masses:
    """Return what of each lot lies in each batch of a plan; together with what is left it is the whole lot.

    The search loads the trays of a lot evenly, as few as hold it in each dryer. Where a lot is split over unequal
    dryers, what is left over then goes onto its trays that are not full, as far as the vapor trap takes its water.

    lots: what is to be dried
    problem: the same on the grid
    plan: batches on it
    kept: what became of the food of batches that are kept
    """
    left = [
        max(lot.mass - sum(mass for (_place, name), mass in kept.masses.items() if name == lot.name), 0.0)
        for lot in lots.lots
    ]
    inside: list[dict[int, float]] = []
    for run in plan:
        inside.append({})
        for job, trays in run.trays.items():
            mass = min(problem.jobs[job].loads[run.machine] * trays / 1e3, left[job])
            inside[-1][job] = mass
            left[job] -= mass
    for run, masses in zip(plan, inside, strict=True):
        for job, trays in run.trays.items():
            cut = lots.lots[job].cuts[run.machine]
            if cut is None or left[job] <= 0.0 or is_frozen(problem.jobs[job], run.start):
                continue
            share = cut.fresh.water / cut.mass
            dry = problem.machines[run.machine].trap / 1e3 - sum(_water(lots, run.machine, masses))
            more = max(min(left[job], trays * cut.mass - masses[job], dry / share if share else left[job]), 0.0)
            masses[job] += more
            left[job] -= more
    for job, rest in enumerate(left):
        whole = saved_mass(problem, plan, job) == problem.jobs[job].mass > 0
        if 0.0 < rest <= NOTHING and whole:  # what rounding to grams left
            last = next(masses for masses in reversed(inside) if job in masses)
            last[job] += rest
            left[job] = 0.0
    _never_more(lots, problem, plan, inside, kept)
    return Masses(tuple(inside), tuple(left))


def _never_more(
    lots: Lots, problem: ScheduleProblem, plan: Plan, inside: list[dict[int, float]], kept: KeptFood
) -> None:
    """Take from the largest part of a lot what its parts, added up as they are read, are above the lot by rounding."""
    order = sorted(range(len(plan)), key=lambda at: (plan[at].start, problem.machines[plan[at].machine].name))
    for job, lot in enumerate(lots.lots):
        parts = [inside[at] for at in order if inside[at].get(job)]
        before = [mass for (_place, name), mass in kept.masses.items() if name == lot.name]
        while parts and sum([*before, *(part[job] for part in parts)]) > lot.mass:
            max(parts, key=lambda part: part[job])[job] -= math.ulp(lot.mass)


def _water(lots: Lots, machine: int, masses: Mapping[int, float]) -> list[float]:
    found = []
    for job, mass in masses.items():
        cut = lots.lots[job].cuts[machine]
        found.append(0.0 if cut is None else mass * cut.fresh.water / cut.mass)
    return found


@dataclass(frozen=True)
class LeftOut:
    """What is not dried.

    name: of the lot
    trays: that it would have filled
    mass: fresh [kg]
    rule: short name of the rule
    reason: one sentence
    wished: all of it had to be dried
    verdict: on food past its limit, ``do_not_use`` or ``look_and_decide``; empty for other food
    """

    name: str
    trays: int
    mass: float
    rule: str
    reason: str
    wished: bool
    verdict: str = ""


def left_out_of(
    lots: Lots,
    problem: ScheduleProblem,
    plan: Plan,
    kept: KeptFood,
    left: Sequence[float],
    blocking: Mapping[int, tuple[str, ...]],
    step: float,
) -> tuple[LeftOut, ...]:
    """Return what is not dried: food of new batches, then food of kept batches that waited too long.

    lots: what is to be dried
    problem: the same on the grid
    plan: the new batches
    kept: what became of the food of kept batches
    left: of each lot that is in no batch [kg]
    blocking: rules that stand against the wishes that are not met, by number of the lot
    step: grid of times [s]
    """
    found = [
        replace(_left(lots, problem, one, blocking, step), mass=left[one.job])
        for one in reasons.left_out(problem, plan)
        if left[one.job] > NOTHING
    ]
    for place, name in sorted(kept.spoiled):
        number = next(number for number, lot in enumerate(lots.lots) if lot.name == name)
        batch, lot = lots.fixed[place], lots.lots[number]
        words = too_old_words(name, _until(lot), verdict_on(lot.item.food))
        trays = dict(batch.trays)[name]
        mass = kept.masses[place, name]
        found.append(LeftOut(name, trays, mass, "too_old", words, lot.must, verdict_on(lot.item.food)))
    return tuple(found)


def _left(
    lots: Lots, problem: ScheduleProblem, one: reasons.Reason, blocking: Mapping[int, tuple[str, ...]], step: float
) -> LeftOut:
    job, lot = problem.jobs[one.job], lots.lots[one.job]
    never_frozen = one.rule == "freezer" or not reasons.frozen_in_time(problem, one.job)
    too_old = one.rule == "too_old" or (never_frozen and _past(lots, lot))
    rule = "too_old" if too_old else one.rule
    other = problem.jobs[one.other].name if one.other is not None else ""
    words: Message
    if too_old:
        words = too_old_words(job.name, _until(lot), verdict_on(lot.item.food))
    else:
        until = day_text(at_step(lots, step, one.until), "weekday_clock")
        words = reasons.reason_words(one, job.name, other, until)
        if blocking.get(one.job):
            rules = listed(reasons.NAMES[name] for name in blocking[one.job])
            words = msg(
                "{reason}; all of it could be dried if one of these changed: {rules}", reason=words, rules=rules
            )
        elif one.job in blocking and one.rule not in reasons.FOR_ITSELF:
            words = msg("{reason}; drying all of it takes more than one change, more trays or more days", reason=words)
    return LeftOut(
        name=job.name,
        trays=max(-(-one.mass // max(job.loads)), 1),
        mass=one.mass / 1e3,
        rule=rule,
        reason=words,
        wished=job.must,
        verdict=verdict_on(lot.item.food) if too_old else "",
    )


def _past(lots: Lots, lot: ArrivingLot) -> bool:
    """Return whether a lot that was never frozen is past its limit before anything new is loaded."""
    return lot.fridge_until < max(lots.now or lots.begin, lots.begin)


def _until(lot: ArrivingLot) -> str:
    until = max(lot.fridge_until, lot.freezer_until) if lot.frozen else lot.fridge_until
    return day_text(until, "weekday_clock")


def notes_of(problem: ScheduleProblem, solved: Solved, step: float) -> tuple[str, ...]:
    """Return what to know of a plan.

    problem: lots, dryers and rules
    solved: the plan
    step: grid of times [s]
    """
    hours = step / 3600.0
    notes: list[str] = [
        msg("Start and end times are rounded to {hours:.2g} h, and the proof is for those times.", hours=hours),
        msg(
            "Planned hours are on the safe side. In 8 of 10 simulated runs with a full dryer, the "
            "slowest tray is dry by then. The batch then waits under vacuum until someone is home."
        ),
    ]
    inside = {(problem.jobs[job], run.start) for run in solved.plan for job in run.trays}
    if any(job.came <= job.fresh_until < start for job, start in inside):
        notes.append(msg("Food that would wait longer than the refrigerator allows is frozen the day it arrives."))
    if any(problem.machines[0].costs):
        notes.append(
            msg("Electricity is based on each dryer's average power from loading to unloading, full or half full.")
        )
    if solved.missed:
        notes.append(
            msg(
                "Not everything that must be dried can be. This plan comes closest and dries as much of it as possible."
            )
        )
    return tuple(notes)


def cautions_of(lots: Lots, problem: ScheduleProblem, plan: tuple[Run, ...]) -> tuple[str, ...]:
    """Return what to mind with food that waits and with foods that share a chamber.

    lots: what is to be dried
    problem: the same on the grid
    plan: batches on it
    """
    found: list[str] = [
        msg(
            "Keep waiting food at {cold} or colder and frozen food at {frozen} or colder. "
            "Refrigerator times are the short end of public food-safety guidance. When in doubt, "
            "throw it out, and follow your local rules.",
            cold=REFRIGERATOR,
            frozen=FREEZER,
        )
    ]
    found += _counted_frozen(lots, problem, plan)
    for run in plan:
        found += cautions([lots.lots[job].item.food for job in run.trays])
    return tuple(dict.fromkeys(found))


def _counted_frozen(lots: Lots, problem: ScheduleProblem, plan: tuple[Run, ...]) -> list[str]:
    """Return what a plan takes from the freezer although it came before anything new is loaded."""
    found: list[str] = []
    for number in sorted({job for run in plan for job in run.trays if is_frozen(problem.jobs[job], run.start)}):
        job, lot = problem.jobs[number], lots.lots[number]
        if lot.frozen or job.came == job.arrival or job.fresh_until >= job.arrival:
            continue
        since = day_text(lot.arrival, "weekday_clock")
        if verdict_on(lot.item.food) == LOOK:
            words = msg(
                "{name}: the plan counts on it having been in the freezer since {since}; if it was not, "
                "look at it and decide",
                name=lot.name,
                since=since,
            )
        else:
            words = msg(
                "{name}: the plan counts on it having been in the freezer since {since}; if it was not, do not use it",
                name=lot.name,
                since=since,
            )
        found.append(words)
    return found
