"""How far the pressure rises while the way to the trap is closed, and what a vacuum gauge shows of vapor."""

import numpy as np

from drystow.errors import InputError
from drystow.evidence.dryness.chamber import FREE, air_of, closed_chamber, leak_rise, vapour_after
from drystow.evidence.dryness.courses import View, place
from drystow.evidence.dryness.observed import ObservedRise
from drystow.evidence.dryness.scatter import covariance_of, either, log_density, near, thinned
from drystow.evidence.dryness.weighings import Signal
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.water import TRIPLE_POINT_PRESSURE, ice_temperature
from drystow.shown import between, quantity

GAUGES = ((1.0, 0.4), (1.6, 0.6))
"""What a gauge shows over the true pressure of water vapour, each with its chance [-]: one that feels the force on a
membrane shows the truth, one that feels the loss of heat shows more. Source: gauge-vapour, drystow-default for the
chances."""
SCALE = 0.06  # error of a gauge's scale, the same in all its readings [-]; drystow-default


def shown(air: Array, vapour: Array, factor: float) -> Array:
    """Return what a gauge shows [Pa].

    air: pressure of air [Pa]
    vapour: pressure of water vapour [Pa]
    factor: what it shows over the true pressure of vapour [-]
    Source: gauge-vapour, gauges are set for air.

    >>> float(shown(5.0, 10.0, 1.6))
    21.0
    """
    result: Array = air + factor * vapour
    return result


MODEL = 0.25  # relative error of the vapour that comes [-]; drystow-default
MEMORY = 4 * 3600.0  # over which it keeps its sign [s]; drystow-default
VOLUME = 0.12  # relative error of the free volume, the same in all rises [-]; drystow-default
LEAK = 0.6  # relative error of the leak, beyond that of its air in the chamber [-]; drystow-default
LEAST = 0.5  # error of a pressure read twice [Pa]; common practice
READING = 0.03  # and its relative error [-]; common practice
OPEN = 0.03  # chance that the way was not really closed [-]; common practice
WIDE = 60.0  # spread of the rises then, all of them alike [Pa]; drystow-default
SHARP_RISE = 5.0  # below this a rise is small, in words [Pa]; common practice


def rise_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the pressure rises say; vapour of all trays makes them.

    view: of the tray
    prior: not needed
    Source: drying-notes, moving front and desorption into a volume; leak-reference for the leak.
    """
    rows = thinned(sorted(view.evidence.rises, key=lambda row: row.time))
    if not rows:
        return ()
    air, leak = air_of(view)
    leaks = np.stack([leak_rise(leak, FREE * view.load.dryer.chamber_volume, row.duration) for row in rows], axis=1)
    seen = np.array([row.after - row.before for row in rows])
    kinship = near(np.array([row.time for row in rows]), MEMORY)
    steps = np.array([LEAST**2 + (READING * row.after) ** 2 for row in rows])
    anything = covariance_of(np.full((1, len(rows)), WIDE), kinship) + np.diag(steps)
    chances, logliks = [OPEN], [np.broadcast_to(log_density(seen[None], anything), air.shape)]
    for factor, chance in GAUGES:
        vapour = factor * np.stack([expected_rise(view, row, air, factor) for row in rows], axis=1)
        noise = covariance_of(MODEL * vapour, kinship) + covariance_of(VOLUME * (vapour + leaks))
        noise += covariance_of(SCALE * (vapour + leaks)) + covariance_of(LEAK * leaks) + np.diag(steps)
        chances.append((1.0 - OPEN) * chance)
        logliks.append(log_density(seen - vapour - leaks, noise))
    return (Signal("pressure_rise", rise_words(rows[-1]), either(chances, logliks), len(rows)),)


def expected_rise(view: View, row: ObservedRise, air: Array, factor: float) -> Array:
    """Return by how much the pressure of vapour rises in each member, from the pressure that was seen (members,) [Pa].

    view: of the tray
    row: what was seen
    air: pressure of air before (members,) [Pa]
    factor: what the gauge shows over the true pressure of vapour [-]
    Source: drying-notes, moving front and desorption into a volume.
    """
    start = np.maximum((row.before - air) / factor, 0.05 * row.before)
    return vapour_after(closed_chamber(view, place(view, row)), start, row.duration) - start


def manometric_temperature(pressure: float) -> float:
    """Return the temperature of the ice front over which vapour comes to rest at a pressure [K].

    pressure: true pressure of vapour once it has levelled off [Pa]
    Valid: while ice is left; air from a leak and a gauge that reads vapour high have to be taken off first.
    Source: murphy2005, eq. 7 inverted.

    >>> print(f"{manometric_temperature(38.01):.2f}")
    243.15
    """
    if not 1e-3 <= pressure <= TRIPLE_POINT_PRESSURE:
        raise InputError(
            "pressure",
            msg("no ice has a vapor pressure of {pressure}", pressure=quantity(pressure, "pressure", short=True)),
        )
    return float(ice_temperature(pressure))


def rise_words(row: ObservedRise) -> str:
    """Return what a pressure rise shows, in a cook's words.

    row: what was seen
    """
    numbers = {"span": between(row.before, row.after, "pressure", 0), "seconds": row.duration}
    if row.after - row.before < SHARP_RISE:
        return msg(
            "with the trap valve closed, pressure hardly rose in {seconds:.0f} s, {span}",
            **numbers,
        )
    if row.after >= TRIPLE_POINT_PRESSURE:
        return msg("with the trap valve closed, pressure rose from {span} in {seconds:.0f} s", **numbers)
    return msg(
        "with the trap valve closed, pressure rose from {span} in {seconds:.0f} s; over ice it would stop at {ice}",
        ice=quantity(manometric_temperature(row.after), "temperature"),
        **numbers,
    )
