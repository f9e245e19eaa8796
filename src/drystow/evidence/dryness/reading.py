"""What the members of a view say: dry or not, how long still, how much dry mass."""

from collections.abc import Sequence

import numpy as np

from drystow.evidence.dryness.courses import View, moisture_of, solids_of, solids_slope, water_columns
from drystow.numerics import Array

CLOSE = 1e-4  # above the target, relative, that still counts as reached: error of a step [-]
GONE = 1.0 - 1e-9  # share of the ice that is gone when none is left


def all_ice_gone(view: View, index: int) -> Array:
    """Return 1 for members without ice in any piece of the tray, 0 for the others (members,) [-].

    view: of the tray
    index: of the sample time
    Source: definition, the thickest class decides.
    """
    columns = [part for parts in view.parts for part in parts]
    gone: Array = (view.runs.dried_fraction[:, index, columns] >= GONE).all(axis=1).astype(float)
    return gone


def solids_with(view: View, water: Array) -> Array:
    """Return the dry mass of the tray's items with other draws of their water (members, items) [kg].

    view: of the tray
    water: draws that take the place of those of the members [-]
    Source: drystow-default, as in `draws.drawn_numbers`.
    """
    solids = solids_of(view)
    moved = solids - solids_slope(view) * (water - view.runs.draws[:, water_columns(view)])
    return np.maximum(moved, 0.2 * solids)


def target_of(view: View) -> float:
    """Return the wished moisture of the tray, wet basis [-].

    view: of the tray
    Source: definition, mean over its items.
    """
    solids, water = _wished(view)
    return float(water.sum() / (water.sum() + solids.sum()))


def is_dry(view: View, index: int) -> Array:
    """Return 1 for members whose tray is at its target without ice in any piece, 0 for the others (members,) [-].

    view: of the tray
    index: of the sample time
    Source: definition, mean moisture of every food on it at its target, and no ice.
    """
    reached: Array = (_excess(view, index) <= CLOSE).astype(float)
    return reached * all_ice_gone(view, index)


def more_time(view: View, waits: Sequence[tuple[float, int]], dry: Array) -> Array:
    """Return how long each member has to dry on, infinite: never (members,) [s].

    view: of the tray
    waits: times from now, each with the index of its sample time; the first is now
    dry: 1 where a member is dry at them (members, waits) [-]
    Source: definition, moisture falls exponentially between the sample times.
    """
    first = np.argmax(dry, axis=1)
    excess = np.stack([_excess(view, index) for _wait, index in waits], axis=1)
    times = np.array([wait for wait, _index in waits])
    members = np.arange(len(dry))
    before = np.maximum(first - 1, 0)
    above, below = excess[members, before], excess[members, first]
    share = np.clip(above / np.maximum(above - below, 1e-9), 0.0, 1.0)
    share = np.where(above <= CLOSE, 1.0, share)  # the ice was what was missing
    needed = times[before] + share * (times[first] - times[before])
    result: Array = np.where(dry.any(axis=1), needed, np.inf)
    return result


def _wished(view: View) -> tuple[Array, Array]:
    items = [view.load.items[number] for number in view.items]
    solids = np.array([item.solids for item in items])
    return solids, solids * np.array([item.target / (1.0 - item.target) for item in items])


def _excess(view: View, index: int) -> Array:
    """Return the logarithm of the water over that at the target, of the food that has most too much (members,) [-]."""
    solids, water = _wished(view)
    there = moisture_of(view, index) * solids
    logs: Array = np.log(np.maximum(there, 1e-12) / water).max(axis=1)
    return logs
