"""Pressure and power over hours: both fall to their empty level as vapour stops, and both share their errors."""

import numpy as np

from drystow.constants import VAPOUR_HEAT_CAPACITY
from drystow.evidence.dryness.chamber import GAUGES, SCALE, air_of, shown
from drystow.evidence.dryness.courses import View, place
from drystow.evidence.dryness.observed import PowerReading, PressureReading
from drystow.evidence.dryness.scatter import covariance_of, either, log_density, near, thinned
from drystow.evidence.dryness.weighings import Signal
from drystow.machine.run import drying_program
from drystow.machine.sampling import REFRIGERATION_SPREAD, column
from drystow.messages import msg
from drystow.numerics import Array
from drystow.shown import between, quantity

SUBLIMATION = 2.84e6  # heat that a kilogram of vapour took up in the food [J/kg]; murphy2005
MEMORY = 8 * 3600.0  # over which the model's error of a curve keeps its sign [s]; drystow-default
PRESSURE_MODEL = 0.25  # relative error of the model's pressure [-]; drystow-default
PRESSURE_READING = 0.04  # relative error of one reading [-]; common practice
ZERO = 1.0  # a gauge's zero, the same in all its readings [Pa]; common practice
POWER_BASE = 0.08  # relative error of the power of an empty dryer, the same in all readings [-]; drystow-default
POWER_GAIN = 0.15  # relative error of what the load adds, the same in all readings [-]; drystow-default
POWER_MODEL = 0.15  # the same, but slowly changing [-]; drystow-default
POWER_READING = 0.15  # of the heaters, for they go on and off [-]; common practice
METER = 10.0  # error of a power meter [W]; common practice
SETTLING = 3600.0  # after a change of the shelf its own warming hides the load [s]; drystow-default
HOUR = 3600.0


def pressure_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the curve of the chamber's pressure says; nothing where the pressure is held.

    view: of the tray
    prior: not needed
    Source: drystow-default, lognormal errors; gauge-vapour for the gauge.
    """
    rows = thinned(sorted((row for row in view.evidence.pressures if row.pressure > 0.0), key=lambda row: row.time))
    if not rows or view.load.rig.pressure is not None:
        return ()
    indices = [place(view, row) for row in rows]
    air, _leak = air_of(view)
    vapour = np.maximum(view.runs.pressure[:, indices] - air[:, None], 0.0)
    kinship = near(view.runs.sample_times[indices], MEMORY)
    # Logarithms, since gauges and the model are off by factors; only near zero an error of so many pascals counts.
    logs = np.log([row.pressure for row in rows])
    chances, logliks = [], []
    for factor, chance in GAUGES:
        expected = shown(air[:, None], vapour, factor)
        zero = ZERO / np.maximum(expected, ZERO)
        noise = PRESSURE_MODEL**2 * kinship + SCALE**2 + covariance_of(zero) + PRESSURE_READING**2 * np.eye(len(rows))
        chances.append(chance)
        logliks.append(log_density(logs - np.log(np.maximum(expected, ZERO)), noise))
    return (Signal("pressure", pressure_words(rows), either(chances, logliks), len(rows)),)


def power_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the curve of the power says; readings soon after a change of the shelf are left out.

    view: of the tray
    prior: not needed
    Source: drystow-default, errors of the power of heaters, refrigeration and pump.
    """
    rows = sorted(view.evidence.powers, key=lambda row: row.time)
    rows = [row for row in rows if _settled(view, float(view.runs.sample_times[place(view, row)]))]
    kept = thinned(rows)
    if not kept:
        return ()
    indices = [place(view, row) for row in kept]
    empty, heaters, load = expected_power(view, indices)
    kinship = near(view.runs.sample_times[indices], MEMORY)
    # What pump and compressor draw is off alike at every reading; what the model misses of the load fades with time.
    steps = METER**2 + (POWER_READING * heaters) ** 2
    noise = (
        covariance_of(POWER_BASE * empty)
        + covariance_of(POWER_GAIN * load)
        + covariance_of(POWER_MODEL * load, kinship)
    )
    noise += steps[:, :, None] * np.eye(len(kept))
    off = np.array([row.power for row in kept]) - empty - load
    return (Signal("power", power_words(kept), log_density(off, noise), len(kept)),)


def expected_power(view: View, indices: list[int]) -> tuple[Array, Array, Array]:
    """Return the power of the dryer without vapour, of its heaters, and what the vapour adds (members, times) [W].

    view: of the tray
    indices: of the sample times
    Source: definition, as in the balance of the run with the shelf at rest.
    """
    runs, dryer = view.runs, view.load.rig.dryer
    shelf, vapour = runs.shelf[:, indices], np.maximum(runs.vapour[:, indices], 0.0)
    able = dryer.refrigeration * np.exp(REFRIGERATION_SPREAD * runs.draws[:, [column("refrigeration")]])
    totals = []
    for flow in (0.0 * vapour, vapour):
        compressor, trap = _refrigeration(view, flow, shelf, able)
        lost = dryer.wall_conductance * (shelf - trap)
        heaters = np.clip(SUBLIMATION * flow + lost, 0.0, dryer.heater_power)
        totals.append((dryer.pump_power + compressor + heaters, heaters))
    (empty, _), (full, heaters) = totals
    return empty, heaters, full - empty


def _refrigeration(view: View, flow: Array, shelf: Array, able: Array) -> tuple[Array, Array]:
    """Return the compressor's power [W] and the evaporator's temperature [K], as `balance.trap_state`."""
    dryer = view.load.rig.dryer
    heat = 2.8385e6 + VAPOUR_HEAT_CAPACITY * (np.maximum(shelf, 250.0) - dryer.trap_floor) * 0.5
    slope = able * dryer.refrigeration_slope
    losses = dryer.room_conductance + dryer.wall_conductance
    from_outside = dryer.room_conductance * dryer.room + dryer.wall_conductance * shelf
    trap = (flow * heat + from_outside - able + slope * dryer.refrigeration_reference) / (slope + losses)
    trap = np.maximum(trap, dryer.trap_floor)
    warmer = trap - dryer.refrigeration_reference
    duty = (flow * heat + from_outside - losses * trap) / np.maximum(able + slope * warmer, 1.0)
    power = np.clip(duty, 0.0, 1.0) * dryer.compressor_power * (1.0 + dryer.compressor_slope * warmer)
    return power, trap


def _settled(view: View, moment: float) -> bool:
    changes = np.concatenate([[0.0], np.cumsum(drying_program(view.load)[:-1, 0])])
    since: Array = moment - changes
    return not bool(((since >= 0.0) & (since < SETTLING)).any())


def pressure_words(rows: tuple[PressureReading, ...]) -> str:
    """Return what a curve of the pressure shows, in a cook's words.

    rows: in order of time
    """
    first, last = rows[0], rows[-1]
    if len(rows) == 1:
        return msg("chamber pressure was {pressure}", pressure=quantity(last.pressure, "pressure", 0))
    return msg(
        "chamber pressure went from {span} in {hours:.1f} h",
        span=between(first.pressure, last.pressure, "pressure", 0),
        hours=(last.time - first.time) / HOUR,
    )


def power_words(rows: tuple[PowerReading, ...]) -> str:
    """Return what a curve of the power shows, in a cook's words.

    rows: in order of time
    """
    first, last = rows[0], rows[-1]
    if len(rows) == 1:
        return msg("the dryer drew {power:.0f} W", power=last.power)
    return msg(
        "power draw went from {first:.0f} to {last:.0f} W in {hours:.1f} h",
        first=first.power,
        last=last.power,
        hours=(last.time - first.time) / HOUR,
    )
