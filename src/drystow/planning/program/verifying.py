"""Programs before the ensemble: which keep every limit as surely as asked for."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.machine.ensemble import simulate_members
from drystow.machine.layout import Tray
from drystow.machine.load import Load, ProgramStep
from drystow.machine.sampling import UNCALIBRATED, Calibration, load_samples
from drystow.messages import msg
from drystow.planning.load.load_plan import Times, last_dry, times_of
from drystow.planning.program.search import (
    COLDEST,
    LONGEST_STEP,
    ROUND_TEMPERATURE,
    SAME_TIME,
    Bench,
    ShelfStep,
    Steps,
    Tick,
    Trial,
    front,
    merged,
    never_warmer,
    shelf_program,
)
from drystow.shown import quantity

CONFIDENCES = (0.8, 0.9, 0.95, 0.99)
"""Shares of the members that can be asked for. Source: drystow-default."""

FEW, FAR_OFF = 24, 0.25
"""Members that are asked first, and how far from what is asked for they may be [-]. Source: drystow-default."""

TRIED_WHOLE = 5
"""Programs that the whole ensemble looks at when none passes. Source: drystow-default."""


@dataclass(frozen=True)
class Verified:
    """One program, simulated and verified.

    program: its steps
    time: end of the load in the plain simulation [s]
    end: of the load in the ensemble
    energy: electricity in the plain simulation [J]
    kept: share of the members that are dry with every ice front below its limit and margin [-]
    over: per tray the share of the members whose ice front is warmer than that [-]
    failed: per tray the share of the members whose ice front is warmer than that, or that never dries [-]
    hottest: per tray the warmest ice front that nine members in ten stay below [K]
    """

    program: tuple[ProgramStep, ...]
    time: float
    end: Times
    energy: float
    kept: float
    over: tuple[float, ...]
    failed: tuple[float, ...]
    hottest: tuple[float, ...]


class Verifier:
    """Draws the same members for every program.

    load: food and dryer
    margin: asked for [K]
    draws: of the members
    """

    def __init__(
        self, load: Load, margin: float, members: int, seed: int, tick: Tick, known: Calibration = UNCALIBRATED
    ) -> None:
        self.load, self.margin, self.tick = load, margin, tick
        self.draws = load_samples(load, members, seed, known=known)
        self._known: dict[tuple[tuple[ProgramStep, ...], int], Verified] = {}

    def verified(self, program: tuple[ProgramStep, ...], trial: Trial, few: int = 0) -> Verified:
        """Return a program with what the ensemble, or a few of its members, say of it."""
        if (program, few) not in self._known:
            self._known[program, few] = self._asked(program, trial, few or len(self.draws))
        return self._known[program, few]

    def passes(self, program: tuple[ProgramStep, ...], trial: Trial, confidence: float) -> bool:
        """Return whether a program keeps all limits in a share of the members; a few are asked first."""
        if math.isinf(trial.time) or self.verified(program, trial, FEW).kept < confidence - FAR_OFF:
            return False
        return self.verified(program, trial).kept >= confidence - 1e-9

    def _asked(self, program: tuple[ProgramStep, ...], trial: Trial, count: int) -> Verified:
        rows = np.array([(step.duration, step.shelf) for step in program])
        runs = simulate_members(self.load, self.draws[:count], program=rows)
        self.tick(count)
        over = runs.hottest > runs.trays[:, :, Tray.LIMIT] - self.margin
        ends = last_dry(runs.dry)
        good = ~over.any(axis=1) & np.isfinite(ends)
        return Verified(
            program=program,
            time=trial.time,
            end=times_of(ends),
            energy=trial.energy,
            kept=float(good.mean()),
            over=tuple(float(share) for share in over.mean(axis=0)),
            failed=tuple(float(share) for share in (over | ~np.isfinite(runs.dry)).mean(axis=0)),
            hottest=tuple(float(np.percentile(one, 90.0, method="lower")) for one in runs.hottest.T),
        )


def best_of(bench: Bench, verifier: Verifier, confidence: float, most_steps: int, top: int) -> list[Verified]:
    """Return the fastest program that passes, made warmer as far as the ensemble allows; empty when none does.

    bench: with its pool
    verifier: with the margin asked for
    confidence: asked for [-]
    most_steps: that the program may have
    top: warmest set-point in multiples of 5 °C
    """
    for steps in front(bench):
        if len(steps) <= most_steps and verifier.passes(shelf_program(steps), bench.tried[steps], confidence):
            return [_refined(bench, verifier, steps, confidence, top)]
    return []


def _refined(bench: Bench, verifier: Verifier, steps: Steps, confidence: float, top: int) -> Verified:
    """Return a passing program that no single round step improves without breaking a limit."""
    while True:
        now = bench.tried[steps]
        for other in _a_little_more(steps, top):
            trial = bench.trial(other)
            faster = trial.time < now.time - SAME_TIME
            if faster and verifier.passes(shelf_program(other), trial, confidence):
                steps = other
                break
        else:
            return verifier.verified(shelf_program(steps), now)


def _a_little_more(steps: Steps, top: int) -> Iterator[Steps]:
    """Give the programs with one step 5 °C warmer, or one change of temperature half an hour off."""
    for number, step in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        if step.level < top:
            yield merged((*before, ShelfStep(step.level + 1, step.halves), *after))
        if after:
            longer = step.halves + (1 if step.level > after[0].level else -1)
            if 1 <= longer <= LONGEST_STEP:
                yield (*before, ShelfStep(step.level, longer), *after)


def nearest_of(bench: Bench, verifier: Verifier, own: Verified, begin: Steps) -> Verified:
    """Return what comes nearest when no program passes: the load's own, or one that keeps the limits more often, is at
    no time warmer than it, and passes no limit by more.

    bench: with its pool
    verifier: with the margin asked for
    own: the load's own program
    begin: the same in round numbers
    """
    for down in range(1, begin[0].level - COLDEST + 1):
        bench.trial(merged(tuple(ShelfStep(max(step.level - down, COLDEST), step.halves) for step in begin)))
    cooler = [
        steps
        for steps, trial in bench.tried.items()
        if not math.isinf(trial.time) and never_warmer(shelf_program(steps), own.program)
    ]
    cooler.sort(key=lambda steps: (bench.tried[steps].time, steps))
    few = {steps: verifier.verified(shelf_program(steps), bench.tried[steps], FEW).kept for steps in cooler}
    for steps in sorted(cooler, key=lambda steps: -few[steps])[:TRIED_WHOLE]:  # the fastest of equal ones first
        one = verifier.verified(shelf_program(steps), bench.tried[steps])
        if one.kept > own.kept and not _passes_by_more(one, own, verifier):
            return one
    return own


def _passes_by_more(one: Verified, own: Verified, verifier: Verifier) -> bool:
    """Return whether a program passes the limit of any tray by more than the load's own does."""
    return any(
        hot > item.limit - verifier.margin and hot > before
        for hot, before, item in zip(one.hottest, own.hottest, verifier.load.items, strict=True)
    )


@dataclass(frozen=True)
class StepLimit:
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


def stops_of(bench: Bench, verifier: Verifier, found: Verified, confidence: float, top: int) -> tuple[StepLimit, ...]:
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
            stops.append(StepLimit(number, "shelf", None, words))
            continue
        program = (*found.program[:number], warmer, *found.program[number + 1 :])
        stops.append(_stop(bench, verifier, found, confidence, number, program))
    return tuple(stops)


def _stop(
    bench: Bench, verifier: Verifier, found: Verified, confidence: float, number: int, program: tuple[ProgramStep, ...]
) -> StepLimit:
    trial = bench.outcome(program)
    if not math.isinf(trial.time) and trial.time > found.time - SAME_TIME:
        return StepLimit(number, *_no_gain(trial, number))
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
        return StepLimit(number, "front", tray, words)
    words = msg(
        "step {step}: nothing faster in round numbers; {more} more would save {minutes:.0f} min",
        step=number + 1,
        more=quantity(5.0, "temperature difference", 0),
        minutes=(found.time - trial.time) / 60,
    )
    return StepLimit(number, "round_numbers", None, words)


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
