"""Programs before the ensemble: which keep every limit as surely as asked for."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drystow.machine.ensemble import simulate_members
from drystow.machine.layout import Tray
from drystow.machine.load import Load, ProgramStep
from drystow.machine.sampling import UNCALIBRATED, Calibration, load_samples
from drystow.planning.load.load_plan import Times, last_dry, times_of
from drystow.planning.program.search import Tick, front
from drystow.planning.program.shelf_steps import (
    COLDEST,
    LONGEST_STEP,
    SAME_TIME,
    Bench,
    ShelfStep,
    Steps,
    Trial,
    merged,
    never_warmer,
    shelf_program,
)

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
