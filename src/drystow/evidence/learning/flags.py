"""A batch that is out of line: what may have happened, each possibility simulated and held against what was seen."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from drystow.evidence.learning.finished import TAILS, Finished, distances
from drystow.evidence.learning.learn import drawn, problem_of, simulation
from drystow.evidence.learning.learned import LearnedNumbers
from drystow.machine.ensemble import Executor
from drystow.machine.load import Load
from drystow.machine.sampling import (
    AIR_SPREAD,
    PER_ITEM,
    REFRIGERATION_SPREAD,
    SHARED,
    SHELF_ERROR,
    THICKNESS_SPREAD,
    VAPOUR_SPREAD,
    column,
)
from drystow.messages import Message, msg
from drystow.numerics import Array

MEMBERS = 80  # of each possibility
LIKELY = 1.0  # power of ten of the likelihood ratio from which a possibility is told [-]; drystow-default
UNFROZEN = 0.25  # share of the ice that is still water where a load went in not frozen through [-]; drystow-default

Shift = tuple[tuple[str, float], ...]
"""Causes and how far they are off [standard deviations]."""


@dataclass(frozen=True)
class Possibility:
    """Something that may happen to a batch.

    key: short name
    words: what it is, in a cook's words
    check: what to look at
    shifts: sizes of it that are tried; causes of the machine, or of food
    each: it may concern one tray alone
    unfrozen: share of the ice that is water still [-]
    heaped: factor on amount and height of the food, beside what was written down [-]
    """

    key: str
    words: Message
    check: Message
    shifts: tuple[Shift, ...]
    each: bool = False
    unfrozen: float = 0.0
    heaped: float = 1.0


@dataclass(frozen=True)
class Suspect:
    """A possibility that explains what was seen.

    key: short name
    words: what it is, in a cook's words
    check: what to look at
    tray: number of the tray that it concerns, 0 for all or the machine
    ratio: how much more likely it makes what was seen than an ordinary batch, in powers of ten [-]
    """

    key: str
    words: Message
    check: Message
    tray: int
    ratio: float


def _times(cause: str, spread: float, *factors: float) -> tuple[Shift, ...]:
    return tuple(((cause, math.log(factor) / spread),) for factor in factors)


POSSIBILITIES = (
    Possibility(
        "overfilled",
        msg("more food on the tray than entered"),
        msg("Weigh what goes on each tray of the next load, and stay below the rim."),
        ((),),
        each=True,
        heaped=1.4,
    ),
    Possibility(
        "thick",
        msg("thicker pieces than entered"),
        msg("Measure the thickest pieces of the next load, and cut them all the same."),
        _times("thickness", THICKNESS_SPREAD, 1.25, 1.5),
        each=True,
    ),
    Possibility(
        "thin",
        msg("thinner pieces than entered"),
        msg("Measure the pieces of the next load."),
        _times("thickness", THICKNESS_SPREAD, 0.75),
    ),
    Possibility(
        "unfrozen",
        msg("the food was not frozen through when the vacuum came on"),
        msg("Freeze it longer or colder, or load it already frozen. Look for puffed or foamed pieces."),
        ((),),
        unfrozen=UNFROZEN,
    ),
    Possibility(
        "air",
        msg("old pump oil or a leak: too much air in the chamber"),
        msg("Check the oil and change it if cloudy. Clean the gasket. Do the leak test with the dryer empty and dry."),
        _times("air", AIR_SPREAD, 3.0, 10.0),
    ),
    Possibility(
        "refrigeration",
        msg("weak cooling"),
        msg("Clean dust off the condenser, give the dryer air and a cooler room, and have the cooling serviced."),
        _times("refrigeration", REFRIGERATION_SPREAD, 0.7, 0.5),
    ),
    Possibility(
        "trap",
        msg("the cold trap was iced up or the way to it was blocked"),
        msg("Defrost the cold trap fully before each load, and make sure nothing blocks the way to it."),
        _times("vapour", VAPOUR_SPREAD, 0.4, 0.15),
    ),
    Possibility(
        "shelf_cold",
        msg("the shelves are colder than their thermometer says, or a heater has failed"),
        msg("With the dryer empty and warm, lay a thermometer on each shelf and feel whether every shelf heats."),
        ((("shelf", -5.0 / SHELF_ERROR),), (("shelf", -10.0 / SHELF_ERROR),)),
    ),
    Possibility(
        "shelf_warm",
        msg("the shelves are warmer than their thermometer says"),
        msg("With the dryer empty and warm, lay a thermometer on each shelf."),
        ((("shelf", 5.0 / SHELF_ERROR),), (("shelf", 10.0 / SHELF_ERROR),)),
    ),
)
"""What may happen to a batch, with the sizes that are tried. Source: common practice for what, drystow-default for how
much."""


def likely_causes(
    before: LearnedNumbers,
    finished: Finished,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    executor: Executor | None = None,
    tick: Callable[[int], None] = lambda _count: None,
) -> tuple[Suspect, ...]:
    """Return what may have happened to a batch, the likeliest first; empty when nothing explains it better.

    before: what was known before the batch, with a place for everything in its load (`Lesson.before`)
    finished: the batch
    members: of each possibility
    seed: of the random numbers
    executor: runs the members; threads on all cores when None
    tick: called with the number of members done
    Source: definition, likelihood ratio of Student's distributions with the spread of an ordinary batch.
    """
    problem = problem_of(before, finished)
    read = slice(len(before.keys), None)
    draws = drawn(problem.mean[read], problem.covariance[read, read], max(members, 2 * problem.draws), seed)
    plain, _times_dry = simulation(finished, executor, tick)(draws)
    usual = distances(plain, plain.observed - plain.expected.mean(axis=0))
    few = draws[:members]
    found: dict[tuple[str, int], Suspect] = {}
    for possibility in POSSIBILITIES:
        trays = (0, *range(1, len(finished.trays) + 1)) if possibility.each and len(finished.trays) > 1 else (0,)
        for tray in trays:
            run = simulation(_happened(finished, possibility, tray), executor, tick)
            for shift in possibility.shifts:
                there, _dry = run(few + shifted(finished, shift, tray))
                moved = (there.expected - plain.expected[:members]).mean(axis=0)
                ratio = _log_chance(usual - distances(plain, moved)) - _log_chance(usual)
                best = found.get((possibility.key, tray))
                if best is None or ratio > best.ratio:
                    suspect = Suspect(possibility.key, possibility.words, possibility.check, tray, ratio)
                    found[possibility.key, tray] = suspect
    told = sorted((one for one in found.values() if one.ratio >= LIKELY), key=lambda one: -one.ratio)
    return tuple(told)


def _log_chance(off: Array) -> float:
    """Return the logarithm (base 10) of the chance of a distance, up to a constant, under Student's distribution."""
    return -0.5 * (TAILS + len(off)) * math.log10(1.0 + float(off @ off) / TAILS)


def shifted(finished: Finished, shift: Shift, tray: int) -> Array:
    """Return what is added to draws when causes are off [-].

    finished: the batch
    shift: causes and how far they are off
    tray: number of the tray that it concerns, 0 for all
    """
    load = finished.load
    row = np.zeros(len(SHARED) + len(PER_ITEM) * len(load.items) + 1)
    items = range(len(load.items)) if tray == 0 else finished.trays[tray - 1]
    for cause, size in shift:
        for place in [column(cause)] if cause in SHARED else [column(cause, number) for number in items]:
            row[place] += size
    return row


def _happened(finished: Finished, possibility: Possibility, tray: int) -> Finished:
    load = finished.load
    if possibility.unfrozen > 0.0:
        load = thawed(load, possibility.unfrozen)
    if possibility.heaped != 1.0:
        numbers = range(len(load.items)) if tray == 0 else finished.trays[tray - 1]
        load = heaped(load, possibility.heaped, tuple(numbers))
    return replace(finished, load=load)


def thawed(load: Load, share: float) -> Load:
    """Return a load of which a share of the ice is still water when drying begins.

    load: food, dryer and program
    share: of the ice [-]
    """
    items = tuple(
        replace(item, ice=(1.0 - share) * item.ice, unfrozen=item.unfrozen + share * item.ice) for item in load.items
    )
    return replace(load, items=items)


def heaped(load: Load, factor: float, numbers: tuple[int, ...]) -> Load:
    """Return a load with more food on some trays, as much higher on the same area.

    load: food, dryer and program
    factor: on the amount [-]
    numbers: of the items that there is more of
    """
    items = tuple(
        replace(
            item,
            mass=factor * item.mass,
            ice=factor * item.ice,
            unfrozen=factor * item.unfrozen,
            size=factor * item.size,
            length=factor * item.length,
        )
        if number in numbers
        else item
        for number, item in enumerate(load.items)
    )
    return replace(load, items=items)
