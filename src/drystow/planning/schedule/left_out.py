"""What is not dried, and why, in the words of a reader."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from drystow.days import day_text
from drystow.messages import Message, listed, msg
from drystow.planning.schedule import reasons
from drystow.planning.schedule.arrivals import ArrivingLot, Lots
from drystow.planning.schedule.grid import Plan, ScheduleProblem
from drystow.planning.schedule.gridding import Kept, at_step
from drystow.planning.schedule.masses import NOTHING
from drystow.planning.schedule.too_old import too_old_words, verdict_on


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
    kept: Kept,
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
