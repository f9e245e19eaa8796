"""Why a shelf program stops where it stops: for each step, what 5 °C more would do."""

import math
from dataclasses import dataclass, replace

from drystow.constants import ZERO_CELSIUS
from drystow.machine.load import Load, ProgramStep
from drystow.messages import msg
from drystow.planning.program.shelf_steps import ROUND_TEMPERATURE, SAME_TIME, Bench, Trial
from drystow.planning.program.verifying import Verified, Verifier
from drystow.shown import quantity


@dataclass(frozen=True)
class Stop:
    """Why a step is not warmer.

    step: number from 0
    limit: front, wet, shelf, heater, pressure, no gain or round numbers
    tray: that the limit belongs to, from 0, or None
    words: one sentence
    """

    step: int
    limit: str
    tray: int | None
    words: str


def stops_of(bench: Bench, verifier: Verifier, found: Verified, confidence: float, top: int) -> tuple[Stop, ...]:
    """Return for each step why it is not 5 °C warmer.

    bench: that tries programs
    verifier: with the limits asked for
    found: the program
    confidence: asked for [-]
    top: warmest set-point in multiples of 5 °C
    """
    stops = []
    for number, step in enumerate(found.program):
        warmer = replace(step, shelf=step.shelf + ROUND_TEMPERATURE)
        if warmer.shelf > ZERO_CELSIUS + ROUND_TEMPERATURE * top + 1e-6:
            words = msg("step {step}: the shelf can't be warmer than this", step=number + 1)
            stops.append(Stop(number, "shelf", None, words))
            continue
        program = (*found.program[:number], warmer, *found.program[number + 1 :])
        stops.append(_stop(bench, verifier, found, confidence, number, program))
    return tuple(stops)


def _stop(
    bench: Bench, verifier: Verifier, found: Verified, confidence: float, number: int, program: tuple[ProgramStep, ...]
) -> Stop:
    trial = bench.outcome(program)
    if not math.isinf(trial.time) and trial.time > found.time - SAME_TIME:
        return Stop(number, *_no_gain(trial, number))
    if not verifier.passes(program, trial, confidence):
        other = verifier.verified(program, trial)
        tray = max(range(len(other.over)), key=lambda at: other.over[at])
        item = verifier.load.items[tray]
        words = msg(
            "step {step}: at {more} warmer, the ice of {food} (tray {tray}) comes too close to its "
            "limit of {limit} in {share:.0%} of simulated runs",
            step=number + 1,
            more=quantity(5.0, "temperature difference", 0),
            food=item.food.name,
            tray=item.tray,
            limit=quantity(item.limit, "temperature"),
            share=other.over[tray],
        )
        return Stop(number, "front", tray, words)
    words = msg(
        "step {step}: nothing faster in round numbers; {more} more would save {minutes:.0f} min",
        step=number + 1,
        more=quantity(5.0, "temperature difference", 0),
        minutes=(found.time - trial.time) / 60,
    )
    return Stop(number, "round_numbers", None, words)


def _no_gain(trial: Trial, number: int) -> tuple[str, None, str]:
    if trial.held_back:
        words = msg(
            "step {step}: warmer is not faster, because the heaters pause at the pressure limit: "
            "trap and pump take no more vapor",
            step=number + 1,
        )
        return "pressure", None, words
    if trial.heater_full:
        words = msg("step {step}: warmer is not faster, because the heaters are at full power", step=number + 1)
        return "heater", None, words
    return "no_gain", None, msg("step {step}: warmer is not faster", step=number + 1)


def worst_of(found: Verified) -> int:
    """Return the number (from 0) of the food whose limit is passed, or that never dries, most often; of equals the one
    whose ice gets warmest.

    found: the program
    """
    return max(range(len(found.failed)), key=lambda at: (found.failed[at], found.over[at], found.hottest[at]))


def _none_keeps(load: Load, found: Verified, plain: Verified) -> str:
    worst = worst_of(found)
    numbers = {
        "share": 1.0 - found.kept,
        "food": load.items[worst].food.name,
        "tray": load.items[worst].tray,
        "hot": quantity(found.hottest[worst], "temperature"),
        "limit": quantity(load.items[worst].limit, "temperature"),
    }
    if found.program == plain.program:
        return msg(
            "no program of up to four days keeps all limits as surely as you asked, and no cooler "
            "one beats your own. With yours a limit is passed, or a tray never dries, in {share:.0%} "
            "of simulated runs. Worst is {food} (tray {tray}): its ice reaches {hot}, its limit is "
            "{limit}. Cut it thinner, load less or dry it apart",
            **numbers,
        )
    return msg(
        "no program of up to four days keeps all limits as surely as you asked. This one is "
        "nowhere warmer than your own. It passes a limit, or never dries a tray, in {share:.0%} "
        "of simulated runs instead of {own:.0%}. Worst is {food} (tray {tray}): its ice reaches "
        "{hot}, its limit is {limit}. Cut it thinner, load less or dry it apart",
        own=1.0 - plain.kept,
        **numbers,
    )


def notes_of(load: Load, found: Verified, plain: Verified, safe: bool, plain_safe: bool) -> tuple[str, ...]:
    """Return what to know of a program that was found.

    load: food, dryer and its own program
    found: the program
    plain: the load's own program
    safe: the program found keeps the limits
    plain_safe: the load's own program does
    """
    if not safe:
        return (_none_keeps(load, found, plain),)
    if not plain_safe:
        words = msg(
            "your program passes a limit in {share:.0%} of runs, so the hours of the two can't be compared",
            share=1.0 - plain.kept,
        )
        return (words,)
    if found.program == plain.program:
        return (msg("your program is already as fast as any we found"),)
    return ()
