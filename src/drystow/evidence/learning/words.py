"""What the batches of a dryer taught, in a cook's words."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from drystow.drying.layer import layer_of
from drystow.evidence.band import NINE_IN_TEN as NINE_IN_TEN  # those who show these numbers read it here
from drystow.evidence.band import Band, band
from drystow.evidence.learning.learn import drawn
from drystow.evidence.learning.learned import CLASS_CAUSES, MACHINE_CAUSES, LearnedNumbers
from drystow.foods import table
from drystow.machine.ensemble import Executor, simulate_members
from drystow.machine.load import Load, LoadSpec, ProgramStep, RigSpec, TraySpec
from drystow.machine.loading import load_of
from drystow.machine.profile import Dryer
from drystow.machine.sampling import (
    AIR_SPREAD,
    CONTACT_SPREAD,
    PER_ITEM,
    REFRIGERATION_SPREAD,
    SHARED,
    SHELF_ERROR,
    TOGETHER,
    VAPOUR_SPREAD,
    column,
)
from drystow.messages import Message, msg, msg_many
from drystow.shown import between, quantity
from drystow.units import kelvin

TAUGHT = 0.9  # standard deviation, of an untaught one, below which a number is told [-]; drystow-default
MEMBERS = 80
DEPTH = 0.01  # of the food of the reference load [m]
REFERENCE_PROGRAM = (ProgramStep(kelvin(-10.0), 7200.0), ProgramStep(kelvin(40.0), math.inf))
SPREADS = {"contact": CONTACT_SPREAD, "refrigeration": REFRIGERATION_SPREAD, "vapour": VAPOUR_SPREAD, "air": AIR_SPREAD}


TimeFactor = Band
"""How much longer a reference load takes than the profile says [-]."""


def reference_load(dryer: Dryer) -> Load:
    """Return the load that machines are compared with: every tray filled with slices of strawberry, 1 cm deep.

    dryer: the machine
    Source: drystow-default.
    """
    mass, area = round(0.9 * 900.0 * DEPTH * dryer.tray_area, 4), round(0.9 * dryer.tray_area, 5)
    one = TraySpec(table.get("Strawberries, raw"), mass, DEPTH, area=area)
    load = load_of(LoadSpec(RigSpec("kitchen-5", shelf=REFERENCE_PROGRAM, overload=True), (one,)))
    rig = replace(load.rig, dryer=dryer, profile="")
    return replace(load, rig=rig, items=load.items * dryer.trays)


def time_factor(
    learned: LearnedNumbers,
    load: Load,
    *,
    members: int = MEMBERS,
    seed: int = 1,
    executor: Executor | None = None,
    tick: Callable[[int], None] = lambda _count: None,
) -> TimeFactor:
    """Return how much longer a load takes in this machine than in one that is as its profile says.

    learned: by its batches
    load: with the machine's profile, such as `reference_load`
    members: draws of what is known
    seed: of the random numbers
    executor: runs the members; threads on all cores when None
    tick: called with the number of members done
    Source: definition, ratio of the drying times; the food is as its class says in both.
    """
    places = [at for at, (_cause, group) in enumerate(learned.keys) if group == ""]
    rows = np.zeros((members + 1, len(SHARED) + len(PER_ITEM) * len(load.items)))
    if places:
        some = drawn(learned.mean[places], learned.covariance[np.ix_(places, places)], members, seed)
        for number, at in enumerate(places):
            rows[1:, column(learned.keys[at][0])] = some[:, number]
    runs = simulate_members(load, rows, executor=executor, tick=tick)
    times = runs.end - runs.start
    return band(times[1:] / times[0])


def learned_words(learned: LearnedNumbers, factor: TimeFactor | None = None) -> tuple[Message, ...]:
    """Return what batches taught: the pace first, then the machine's numbers, then those of the food classes.

    learned: by the batches of a dryer
    factor: as `time_factor` gives it
    """
    if learned.batches == 0:
        return ()
    told = [] if factor is None else [pace_words(factor)]
    for cause in MACHINE_CAUSES:
        mean, width, count = learned.number(cause)
        if count and width < TAUGHT:
            told.append(_shelf(mean, width, count) if cause == "shelf" else _machine(cause, mean, width, count))
    for group in dict.fromkeys(group for _cause, group in learned.keys if group):
        for cause in CLASS_CAUSES:
            mean, width, count = learned.number(cause, group)
            if count and width < TAUGHT and cause != "isotherm":
                told.append(_class(cause, group, mean, width, count))
    return tuple(told)


def pace_words(factor: TimeFactor) -> Message:
    """Return how fast a dryer is.

    factor: how much longer a reference load takes

    >>> pace_words(TimeFactor(1.09, 1.14, 1.19))
    'Your dryer runs 14% slower than expected (9 to 19%).'
    """
    low, middle, high = (100.0 * (value - 1.0) for value in (factor.low, factor.middle, factor.high))
    if low >= 0.5:
        return msg(
            "Your dryer runs {middle:.0f}% slower than expected ({low:.0f} to {high:.0f}%).",
            middle=middle,
            low=low,
            high=high,
        )
    if high <= -0.5:
        return msg(
            "Your dryer runs {middle:.0f}% faster than expected ({low:.0f} to {high:.0f}%).",
            middle=-middle,
            low=-high,
            high=-low,
        )
    return msg(
        "Your dryer runs about as expected, as far as we can tell ({low} to {high}).",
        low=_paced(low),
        high=_paced(high),
    )


def _paced(percent: float) -> Message:
    if percent < 0.0:
        return msg("{percent:.0f}% faster", percent=-percent)
    return msg("{percent:.0f}% slower", percent=percent)


def _more(percent: float) -> Message:
    if percent < 0.0:
        return msg("{percent:.0f}% less", percent=-percent)
    return msg("{percent:.0f}% more", percent=percent)


def _range(spread: float, mean: float, width: float) -> tuple[float, float, float]:
    """Return middle, low and high of a factor, as per cent beside 100."""
    ends = (mean, mean - NINE_IN_TEN * width, mean + NINE_IN_TEN * width)
    middle, low, high = (100.0 * (math.exp(spread * end) - 1.0) for end in ends)
    return middle, low, high


def _batches(count: int) -> Message:
    return msg_many("from one batch", "from {count} batches", count)


def _machine(cause: str, mean: float, width: float, count: int) -> Message:
    middle, low, high = (_more(value) for value in _range(SPREADS[cause], mean, width))
    values = {"middle": middle, "low": low, "high": high, "batches": _batches(count)}
    if cause == "contact":
        return msg("Heat from shelf to food: {middle} than expected ({low} to {high}), {batches}.", **values)
    if cause == "refrigeration":
        return msg("Cooling: {middle} than expected ({low} to {high}), {batches}.", **values)
    if cause == "vapour":
        return msg("Vapor reaching the cold trap: {middle} than expected ({low} to {high}), {batches}.", **values)
    return msg("Air in the chamber: {middle} than expected ({low} to {high}), {batches}.", **values)


def _shelf(mean: float, width: float, count: int) -> Message:
    middle, low, high = (SHELF_ERROR * (mean + side * width) for side in (0.0, -NINE_IN_TEN, NINE_IN_TEN))
    return msg(
        "Shelves, compared with their thermometer: {middle} ({span}), {batches}.",
        middle=quantity(middle, "temperature difference", 1, signed=True),
        span=between(low, high, "temperature difference", 1, signed=True),
        batches=_batches(count),
    )


def _class(cause: str, group: str, mean: float, width: float, count: int) -> Message:
    layer, share = layer_of(group), math.sqrt(TOGETHER[cause][1])
    spreads = {
        "resistance": layer.resistance_spread,
        "conductivity": layer.conductivity_spread,
        "desorption": layer.desorption_spread,
    }
    middle, low, high = _range(share * spreads[cause], mean, width)
    values = {"food": msg(group), "batches": _batches(count)}
    if cause == "desorption":
        return msg(
            "“{food}” gives up its last moisture {middle} than usual ({low} to {high}), {batches}.",
            middle=_paced(-middle),
            low=_paced(-high),
            high=_paced(-low),
            **values,
        )
    values |= {"middle": _more(middle), "low": _more(low), "high": _more(high)}
    if cause == "resistance":
        return msg(
            "Dried layer of “{food}”, resistance to vapor: {middle} than usual ({low} to {high}), {batches}.",
            **values,
        )
    return msg(
        "Dried layer of “{food}”, heat it carries: {middle} than usual ({low} to {high}), {batches}.",
        **values,
    )
