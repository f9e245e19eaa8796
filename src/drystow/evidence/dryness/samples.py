"""How likely each member makes what samples say: dried in an oven, or in a water-activity meter."""

import numpy as np

from drystow.evidence.dryness.courses import View, moisture_of, place, solids_of
from drystow.evidence.dryness.scatter import LINE
from drystow.evidence.dryness.weighings import Likelihood, Signal, weighing_signal, wet_moisture
from drystow.machine.layout import Tray
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.sorption import _gab_water_activity

SAMPLING = 0.15  # relative spread of a sample's moisture within a tray, beside that of thickness [-]; common practice
SAMPLE_PIECES = 2.5  # pieces that make a sample [-]; common practice
SAMPLING_LEAST = 0.002  # the same for nearly dry food, wet basis [-]; common practice
ISOTHERM_ERROR = 0.5  # of the logarithm of the odds of a water activity at a known moisture [-]; drystow-default


def oven_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what samples dried in an oven say: their moisture is seen directly.

    view: of the tray
    prior: not needed
    Source: definition, loss over the weight before; spread within a tray is common practice.
    """
    signals = []
    for row in (row for row in view.evidence.samples if row.tray == view.tray):
        seen = (row.before - row.after) / row.before
        real = wet_moisture(view, place(view, row), solids_of(view))
        scale = row.resolution / np.sqrt(12.0) * np.hypot(1.0, row.after / row.before) / row.before
        spread = np.hypot(np.maximum(SAMPLING * real, SAMPLING_LEAST), scale)
        spread = np.hypot(spread, between_pieces(view, place(view, row)) / np.sqrt(SAMPLE_PIECES))
        words = msg("a sample lost {share:.1%} of its weight in the oven", share=seen)
        signals.append(_normal("oven_sample", words, seen, real, spread))
    return tuple(signals)


def activity_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what water-activity readings say, through each member's own isotherm.

    view: of the tray
    prior: not needed
    Source: gab, with the meter's error and the spread within a tray (common practice).
    """
    signals = []
    for row in (row for row in view.evidence.activities if row.tray == view.tray):
        index = place(view, row)
        real = activity_of(view, index)
        spread = np.hypot(np.maximum(SAMPLING * real, 0.005), row.error)
        spread = np.hypot(spread, ISOTHERM_ERROR * real * (1.0 - real))
        words = msg("a sample showed a water activity of {activity:.2f}", activity=row.activity)
        signals.append(_normal("activity", words, row.activity, real, spread))
    return tuple(signals)


def between_pieces(view: View, index: int) -> Array:
    """Return the standard deviation of moisture between thick and thin pieces of the tray, wet basis (members,) [-].

    view: of the tray
    index: of the sample time
    Source: definition, spread of the classes of thickness within each item, mean by dry mass.
    """
    solids = solids_of(view)
    spreads = []
    for parts in view.parts:
        moisture = view.runs.moisture[:, index, list(parts)]
        wet = moisture / (1.0 + moisture)
        spreads.append(np.sqrt(np.maximum((wet**2) @ view.shares - (wet @ view.shares) ** 2, 0.0)))
    mean: Array = (np.stack(spreads, axis=1) * solids).sum(axis=1) / solids.sum(axis=1)
    return mean


def activity_of(view: View, index: int) -> Array:
    """Return the water activity at 25 °C of the tray's items, mean by dry mass (members,) [-].

    view: of the tray
    index: of the sample time
    Source: gab, inverse with the drawn monolayer.
    """
    moisture, solids = moisture_of(view, index), solids_of(view)
    columns = [parts[0] for parts in view.parts]
    monolayer = view.runs.trays[:, columns, Tray.MONOLAYER]
    c, k = view.runs.trays[:, columns, Tray.GAB_C], view.runs.trays[:, columns, Tray.GAB_K]
    activity = np.minimum(_gab_water_activity(moisture, monolayer, c, k), 1.0)
    mean: Array = (activity * solids).sum(axis=1) / solids.sum(axis=1)
    return mean


def drawn_activity(view: View, index: int, seed: int) -> Array:
    """Return water activities that an isotherm of another form may give at each member's moisture (members,) [-].

    view: of the tray
    index: of the sample time
    seed: of the random numbers
    Source: drystow-default, error of the odds.
    """
    return other_isotherm(activity_of(view, index), index, seed)


def other_isotherm(activity: Array, index: int, seed: int) -> Array:
    """Return water activities as an isotherm of another form may give them (members,) [-].

    activity: by the GAB isotherm (members,) [-]
    index: of the sample time
    seed: of the random numbers
    Source: drystow-default, error of the odds.
    """
    there = np.clip(activity, 1e-9, 1.0)
    odds = there * np.exp(ISOTHERM_ERROR * np.random.default_rng([seed, index]).standard_normal(len(there)))
    result: Array = odds / (1.0 - there + odds)
    return result


def _normal(kind: str, words: str, seen: float, real: Array, spread: Array) -> Signal:
    misfit = ((seen - real) / spread) ** 2
    return Signal(kind, words, -0.5 * (misfit + LINE) - np.log(spread), 1, misfit, True)


LIKELIHOODS: tuple[Likelihood, ...] = (weighing_signal, oven_signals, activity_signals)
"""Kinds of evidence that weigh or sample the food, as `dryness.judge` asks them."""
