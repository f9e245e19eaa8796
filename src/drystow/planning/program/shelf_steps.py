"""Shelf programs in round numbers: steps of 5 °C and half hours, and what the plain simulation says of each."""

import math
from collections.abc import Iterable, Mapping
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
        load = replace(self.load, program=program)
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
