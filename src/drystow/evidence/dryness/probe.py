"""A probe in the food against the shelf: cold as long as ice is left where it sits, then it follows the shelf.

Where it sits nobody knows exactly: in a thick piece or a thin one, in the middle or nearer the surface; now and then
it has slipped out. Each is a story with a chance, the same for all readings of a tray.
"""

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.evidence.dryness.courses import View, place
from drystow.evidence.dryness.observed import ProbeReading
from drystow.evidence.dryness.reading import GONE
from drystow.evidence.dryness.scatter import covariance_of, either, log_density, near, pieces_of, thinned
from drystow.evidence.dryness.weighings import Signal
from drystow.machine.sampling import SHELF_ERROR, column
from drystow.messages import msg
from drystow.numerics import Array
from drystow.shown import quantity

THICKEST = 0.3  # chance that the probe went into one of the thickest pieces, beyond luck [-]; common practice
DEPTHS = ((0.5, 0.3), (0.8, 0.4), (1.0, 0.3))
"""Share of the ice that is gone when the front passes the tip, each with its chance [-]. Source: drystow-default."""
SLIPPED = 0.05  # chance that the tip is not in the food but near the shelf [-]; common practice
SLIPPED_SPREAD = 6.0  # of what it shows then, against the shelf [K]; drystow-default
LEAD = 0.05  # of the difference to the shelf that the lead carries to the tip [-]; drystow-default
LEAD_SPREAD = 0.04  # of that share between probes [-]; drystow-default
SENSOR = 1.0  # error of a probe, the same in all its readings [K]; common practice
READING = 0.5  # error of one reading [K]; common practice
MODEL = 1.5  # error of the model's temperature [K]; drystow-default
MODEL_SHARE = 0.15  # and of its difference to the shelf, for the core lags behind the mean [-]; drystow-default
MEMORY = 4 * 3600.0  # over which the model's error keeps its sign [s]; drystow-default
PROFILE = 0.5  # of the difference from front to shelf lies in the dried layer, the rest outside [-]; drystow-default
OTHER_SHELF = 0.2  # of a shelf that is not as programmed, unknown while there is ice [-]; drystow-default
AT_THE_SHELF = 4.0  # nearer than this the probe is at the shelf, in words [K]; common practice
COLD = ZERO_CELSIUS - 2.0  # below this it is in the cold, in words [K]


def probe_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the probe in a tray says.

    view: of the tray
    prior: not needed
    Source: drystow-default, stories of where the tip sits and errors of the readings.
    """
    rows = thinned(sorted((row for row in view.evidence.probes if row.tray == view.tray), key=lambda row: row.time))
    if not rows:
        return ()
    indices = [place(view, row) for row in rows]
    kinship = near(view.runs.sample_times[indices], MEMORY)
    chances, logliks = [SLIPPED], [_slipped(rows, len(view.runs.draws))]
    for part, chance in pieces_of(view, THICKEST):
        for depth, share in DEPTHS:
            chances.append((1.0 - SLIPPED) * chance * share)
            logliks.append(_in_the_food(view, rows, indices, part, depth, kinship))
    return (Signal("probe", probe_words(rows[-1]), either(chances, logliks), len(rows)),)


def tip_temperature(gone: Array, temperature: Array, shelf: Array, depth: float) -> Array:
    """Return the temperature at the tip of a probe [K].

    gone: share of the piece's ice that is gone [-]
    temperature: of its ice front, of the dried food once the ice is gone [K]
    shelf: temperature [K]
    depth: share of the ice that is gone when the front passes the tip [-]
    Source: definition, straight line through the dried layer.

    >>> print(tip_temperature(np.array([0.3, 1.0]), np.array([250.0, 305.0]), np.array([313.0, 313.0]), 0.5))
    [250. 305.]
    """
    passed = np.maximum(1.0 - depth / np.maximum(gone, 1e-9), 0.0)
    bare = temperature + PROFILE * passed * (shelf - temperature)
    result: Array = np.where(gone >= GONE, temperature, bare)
    return result


def _in_the_food(
    view: View, rows: tuple[ProbeReading, ...], indices: list[int], part: int, depth: float, kinship: Array
) -> Array:
    runs = view.runs
    gone, food = runs.dried_fraction[:, indices, part], runs.temperature[:, indices, part]
    shelf = runs.shelf[:, indices]
    shown = shelf - SHELF_ERROR * runs.draws[:, [column("shelf")]]
    other = np.array([row.shelf for row in rows]) - shown
    dried = gone >= GONE
    tip = tip_temperature(gone, food, shelf, depth) + np.where(dried, other, 0.0)
    warmer = shelf + other - tip
    expected = tip + LEAD * warmer
    model = MODEL + MODEL_SHARE * np.abs(warmer) + np.where(dried, 0.0, OTHER_SHELF * np.abs(other))
    noise = (
        covariance_of(model, kinship) + covariance_of(LEAD_SPREAD * warmer) + SENSOR**2 + READING**2 * np.eye(len(rows))
    )
    return log_density(np.array([row.product for row in rows]) - expected, noise)


def _slipped(rows: tuple[ProbeReading, ...], members: int) -> Array:
    off = np.array([[row.product - row.shelf for row in rows]])
    noise = SLIPPED_SPREAD**2 + (SENSOR**2 + READING**2) * np.eye(len(rows))
    return np.broadcast_to(log_density(off, noise[None]), (members,))


def probe_words(row: ProbeReading) -> str:
    """Return what the last reading of a probe shows, in a cook's words.

    row: the last reading
    """
    numbers = {"product": quantity(row.product, "temperature"), "shelf": quantity(row.shelf, "temperature")}
    close = abs(row.shelf - row.product) <= AT_THE_SHELF
    if row.product < COLD and close:
        return msg("the probe shows {product}, as cold as the shelf: it says little", **numbers)
    if row.product < COLD:
        return msg("the probe shows {product}, the shelf {shelf}: ice is left at the probe", **numbers)
    if close:
        return msg("the probe shows {product}, as warm as the shelf: no ice at the probe", **numbers)
    return msg("the probe shows {product}, the shelf {shelf}: still warming up at the probe", **numbers)
