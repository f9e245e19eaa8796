"""The search among shelf programs in round numbers: every margin gets its own pattern search, all share one pool."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.machine.load import Load, ProgramStep
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.machine.sampling import UNCALIBRATED, Calibration, calibrated

ROUND_TEMPERATURE = 5.0  # set-points are multiples of it in °C [K]
ROUND_TIME = 1800.0  # durations are multiples of it [s]
COLDEST = -4  # lowest set-point, -20 °C, in steps
LONGEST_STEP = 96  # longest step before the last, two days, in half hours
TOLERANCE = 1e-4  # relative error of a step while searching, as in the ensemble
SAME_TIME = 60.0  # ends that are as near as this are the same [s]
SAME_TEMPERATURE = 1e-6  # set-points that are as near as this are the same [K]

HOT = {"contact": 0.7, "air": 0.7, "refrigeration": -0.7, "vapour": -0.7, "shelf": 0.7, "resistance": 0.9,
       "conductivity": 0.9}  # fmt: skip
SLOW = {"contact": -0.9, "air": 0.7, "refrigeration": -0.7, "vapour": -0.7, "shelf": -0.7, "resistance": 1.3,
        "conductivity": -0.7}  # fmt: skip
"""Safety factors of the search, in standard deviations: a run whose ice gets warm at once, and one whose ice is still
there when the shelf gets warmer. About nine runs in ten stay inside; the ensemble has the last word.
Source: drystow-default."""

OF_FOOD = ("resistance", "conductivity")
"""Causes that belong to a class of food."""


class ShelfStep(NamedTuple):
    """One step.

    level: set-point in multiples of 5 °C
    halves: half hours that it lasts; of the last step 0, until dry
    """

    level: int
    halves: int


Steps = tuple[ShelfStep, ...]


@dataclass(frozen=True)
class Trial:
    """What the plain simulation says of a program.

    time: end of the load; infinite when it is not dry or the vapour leaves at the speed of sound [s]
    excess: warmest ice front over its limit with the safety factors of `HOT` or `SLOW`, negative below the limit [K]
    energy: electricity [J]
    heater_full: the heaters are at full power for long
    held_back: the heaters pause at the pressure limit for long
    """

    time: float
    excess: float
    energy: float
    heater_full: bool
    held_back: bool


def shelf_program(steps: Steps) -> tuple[ProgramStep, ...]:
    """Return steps in round numbers as a program.

    steps: at least one
    """
    last = len(steps) - 1
    return tuple(
        ProgramStep(
            ZERO_CELSIUS + ROUND_TEMPERATURE * step.level,
            math.inf if number == last else ROUND_TIME * step.halves,
        )
        for number, step in enumerate(steps)
    )


def rounded(program: tuple[ProgramStep, ...], highest: int) -> Steps:
    """Return a program in round numbers, its last step until dry.

    program: any
    highest: warmest set-point in multiples of 5 °C
    """
    steps = []
    for step in program:
        level = round((step.shelf - ZERO_CELSIUS) / ROUND_TEMPERATURE)
        halves = 0 if math.isinf(step.duration) else min(max(round(step.duration / ROUND_TIME), 1), LONGEST_STEP)
        steps.append(ShelfStep(min(max(level, COLDEST), highest), halves))
    return merged((*steps[:-1], ShelfStep(steps[-1].level, 0)))


def merged(steps: Steps) -> Steps:
    """Return the same program without a change that is none.

    steps: at least one
    """
    kept: list[ShelfStep] = []
    for step in steps:
        if kept and kept[-1].level == step.level:
            before = kept.pop()
            step = ShelfStep(step.level, 0 if step.halves == 0 else before.halves + step.halves)
        kept.append(step)
    return tuple(kept)


def never_warmer(program: tuple[ProgramStep, ...], than: tuple[ProgramStep, ...]) -> bool:
    """Return whether the shelf is at no time set warmer than with another program.

    program: its steps; the last one holds
    than: the other's
    """
    moments = [0.0]
    for steps in (program, than):
        moments += [float(at) for at in np.cumsum([step.duration for step in steps[:-1]])]
    return all(_set_at(program, at) <= _set_at(than, at) + SAME_TEMPERATURE for at in moments)


def _set_at(program: tuple[ProgramStep, ...], moment: float) -> float:
    ends = np.cumsum([step.duration for step in program[:-1]])
    return program[int(np.searchsorted(ends, moment, side="right"))].shelf


class Bench:
    """Tries programs on one load, none of them twice.

    load: food and dryer
    known: what earlier batches of the dryer taught
    runs: simulations so far
    tried: every program with its outcome
    """

    def __init__(self, load: Load, known: Calibration = UNCALIBRATED) -> None:
        self.load, self.known = load, known
        self.runs = 0
        self.tried: dict[Steps, Trial] = {}
        classes = {item.food.food_class for item in load.items}
        self._unlucky = [_unlucky(causes, classes, known) for causes in (HOT, SLOW)]

    def trial(self, steps: Steps) -> Trial:
        """Return what the plain simulation says of a program."""
        if steps not in self.tried:
            self.tried[steps] = self.outcome(shelf_program(steps))
        return self.tried[steps]

    def outcome(self, program: tuple[ProgramStep, ...]) -> Trial:
        """Return what the plain simulation, and those with safety factors, say of any program."""
        load = replace(self.load, rig=replace(self.load.rig, program=program))
        try:
            result = self._simulated(calibrated(load, self.known))
            unlucky = [self._simulated(calibrated(load, causes)) for causes in self._unlucky]
        except InputError:  # the pressure finds no balance with such a shelf
            return Trial(math.inf, math.inf, math.inf, False, False)
        kinds = {event.kind for event in result.events}
        return Trial(
            time=result.total_time if result.ended_by == "dry" and "choked" not in kinds else math.inf,
            excess=max(tray.front_temperature_max - tray.limit for one in unlucky for tray in one.trays),
            energy=result.machine.energy,
            heater_full="heater_full" in kinds,
            held_back="heater_held_back" in kinds,
        )

    def _simulated(self, load: Load) -> LoadResult:
        self.runs += 1
        return simulate(load, series=False, tolerance=TOLERANCE)


def _unlucky(causes: Mapping[str, float], classes: Iterable[str], known: Calibration) -> Calibration:
    """Return what is known with the causes shifted by so many of its standard deviations."""
    keys = [(cause, name) for cause in causes for name in (classes if cause in OF_FOOD else [""])]
    shifted = {}
    for key in keys:
        mean, width = known.get(key, (0.0, 1.0))
        shifted[key] = (mean + causes[key[0]] * width, width)
    return {**known, **shifted}


LEVELS = (2.0, 0.5, -1.0, -2.5, -4.0, -6.0)
"""Excess over the limit that the simulation with safety factors may have, one search each, whatever is asked for in the
end [K]. Source: drystow-default."""

APART = 0.25  # programs of the front differ at least by this in their warmest ice front [K]
WORTH_WAITING = 4 * 24 * 3600.0  # slower programs are not looked at [s]
LEVEL_MOVES = (1, -1, 3, -3)  # of a set-point, in multiples of 5 °C
TIME_MOVES = (1, -1, 4, -4, 12, -12)  # of a duration, in half hours
SPLITS = (4, 12, 24, 36)  # half hours after which the last step may be parted
FINISHES = (20, 28, 36, 48, 64, 84)  # half hours after which the last step may be followed by a hot finish

Tick = Callable[[int], None]


def fill(bench: Bench, begin: Steps, most_steps: int, highest: int, tick: Tick = lambda _runs: None) -> None:
    """Try programs until no neighbour is faster, for every level of `LEVELS`.

    The pool does not depend on what limits are asked for, so that a stricter wish never finds a faster program.

    bench: that tries them
    begin: a program to begin with
    most_steps: that a program may have
    highest: warmest set-point in multiples of 5 °C
    tick: called with the number of simulations done, for a progress bar
    """
    starts = [begin] if len(begin) <= most_steps else []
    for start in starts:
        _try(bench, start, tick)
    for level in range(highest, COLDEST - 1, -1):
        trial = _try(bench, (ShelfStep(level, 0),), tick)
        if trial.time > WORTH_WAITING or trial.excess <= LEVELS[-1]:
            break
    for allowed in LEVELS:
        inside = [steps for steps, trial in bench.tried.items() if trial.excess <= allowed and len(steps) <= most_steps]
        if inside:
            _climb(bench, min(inside, key=lambda steps: _order(steps, bench)), allowed, most_steps, highest, tick)
    for steps in front(bench):  # what the ensemble may need where safety factors were not enough
        for other in backed_off(steps):
            _try(bench, other, tick)


def backed_off(steps: Steps) -> Iterator[Steps]:
    """Give the programs with one step 5 °C cooler, or warmer steps two hours later.

    steps: a program
    """
    for number, step in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        if step.level > COLDEST:
            yield merged((*before, ShelfStep(step.level - 1, step.halves), *after))
        if after and after[0].level > step.level and step.halves + 4 <= LONGEST_STEP:
            yield (*before, ShelfStep(step.level, step.halves + 4), *after)


def front(bench: Bench) -> list[Steps]:
    """Return the programs that no other one beats in both, time and coolness of the ice; the fastest first.

    bench: with its pool
    """
    found: list[Steps] = []
    coolest = float("inf")
    for steps in sorted(bench.tried, key=lambda steps: _order(steps, bench)):
        trial = bench.tried[steps]
        if trial.time < WORTH_WAITING and trial.excess < coolest - APART:
            found.append(steps)
            coolest = trial.excess
    return found


def _order(steps: Steps, bench: Bench) -> tuple[float, int, float, Steps]:
    trial = bench.tried[steps]
    return round(trial.time / SAME_TIME) if trial.time < float("inf") else trial.time, len(steps), trial.excess, steps


def _try(bench: Bench, steps: Steps, tick: Tick) -> Trial:
    before = bench.runs
    trial = bench.trial(steps)
    tick(bench.runs - before)
    return trial


def _climb(bench: Bench, start: Steps, allowed: float, most_steps: int, highest: int, tick: Tick) -> None:
    """Go to a neighbour that is faster, as long as there is one whose ice stays as cool as is allowed."""
    here = start
    while True:
        now = _order(here, bench)
        for steps in neighbours(here, most_steps, highest):
            trial = _try(bench, steps, tick)
            if trial.excess <= allowed and _order(steps, bench)[:2] < now[:2]:
                here = steps
                break
        else:
            return


def neighbours(steps: Steps, most_steps: int, highest: int) -> Iterator[Steps]:
    """Give the programs one move away, each once.

    steps: a program
    most_steps: that a program may have
    highest: warmest set-point in multiples of 5 °C
    """
    seen = {steps}
    for moved in _moves(steps, highest):
        if any(not COLDEST <= step.level <= highest for step in moved):
            continue
        if any(not 1 <= step.halves <= LONGEST_STEP for step in moved[:-1]):
            continue
        other = merged(moved)
        if len(other) <= most_steps and other not in seen:
            seen.add(other)
            yield other


def _moves(steps: Steps, highest: int) -> Iterator[Steps]:
    last = len(steps) - 1
    for number, step in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        for change in LEVEL_MOVES:
            yield (*before, ShelfStep(step.level + change, step.halves), *after)
        if number < last:
            for change in TIME_MOVES:
                yield (*before, ShelfStep(step.level, step.halves + change), *after)
            yield (*before, ShelfStep(step.level + 1, step.halves - 1), *after)
            yield (*before, ShelfStep(step.level - 1, step.halves + 2), *after)
            yield (*before, *after)
        if number < last - 1:
            following = after[0]
            for change in (2, -2):
                shorter = ShelfStep(following.level, following.halves - change)
                yield (*before, ShelfStep(step.level, step.halves + change), shorter, *after[1:])
    end = steps[last]
    for halves in FINISHES:  # a hot finish when the ice is gone, if need be in place of another step
        hot = (*steps[:-1], ShelfStep(end.level, halves), ShelfStep(highest, 0))
        yield hot
        for number in range(last):
            yield (*hot[:number], *hot[number + 1 :])
    yield (ShelfStep(min(steps[0].level + 2, highest), 4), *steps)
    yield (ShelfStep(highest, 4), *steps)
    for halves in SPLITS:
        yield (*steps[:-1], ShelfStep(end.level, halves), ShelfStep(min(end.level + 3, highest), 0))
        yield (*steps[:-1], ShelfStep(min(end.level + 1, highest), halves), end)
        yield (*steps[:-1], ShelfStep(end.level - 1, halves), end)
