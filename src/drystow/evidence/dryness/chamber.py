"""The chamber with the way to trap and pump closed: how fast ice and dried food fill it with vapour, and how far."""

from dataclasses import dataclass

import numpy as np

from drystow.constants import VAPOUR_GAS_CONSTANT
from drystow.errors import InputError
from drystow.evidence.dryness.courses import View, place
from drystow.evidence.dryness.observed import ObservedRise
from drystow.evidence.dryness.reading import GONE
from drystow.evidence.dryness.scatter import covariance_of, either, log_density, near, thinned
from drystow.evidence.dryness.weighings import Signal
from drystow.machine.dried_layer import (
    AIR_RESISTANCE,
    COVERED,
    FASTEST_RATE,
    QUICKEST,
    REFERENCE_TEMPERATURE,
    SORPTION_TEMPERATURE,
    STICK,
)
from drystow.machine.layout import CELLS, Tray
from drystow.machine.sampling import AIR_SPREAD, column
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.sorption import HIGHEST_ACTIVITY, HIGHEST_KA, _gab_moisture
from drystow.properties.water import (
    TRIPLE_POINT_PRESSURE,
    _ice_vapour_pressure,
    _liquid_vapour_pressure,
    _sublimation_heat,
    ice_temperature,
)
from drystow.shown import between, quantity

FREE = 0.85  # of the empty chamber that shelves and food leave free [-]; drystow-default
ICE_HEAT = 2100.0  # heat capacity of ice [J/(kg K)]; walstra
LEAST_ICE = 0.02  # share of a piece's ice whose heat capacity stays, for the last trace [-]
WARMEST_ICE = 273.15
STEPS = 60  # of the closed time


@dataclass(frozen=True)
class Closed:
    """What fills a closed chamber, per member; members by rows, pieces by columns.

    gas: pressure per mass of vapour, R T over the free volume [Pa/kg]
    ease: vapour from the ice per pressure difference (members, pieces) [kg/(s Pa)]
    front: temperature of the ice front when it is closed (members, pieces) [K]
    heat: heat that comes to the front (members, pieces) [W]
    frozen: heat capacity of what is frozen (members, pieces) [J/K]
    desorbing: vapour from the dried food at `vapour` [kg/s]
    damping: by how much that falls with the pressure [kg/(s Pa)]
    vapour: pressure of vapour before [Pa]
    """

    gas: Array
    ease: Array
    front: Array
    heat: Array
    frozen: Array
    desorbing: Array
    damping: Array
    vapour: Array


def vapour_after(closed: Closed, start: Array, duration: float) -> Array:
    """Return the pressure of vapour after the chamber was closed for a while (members,) [Pa].

    closed: what fills it
    start: pressure of vapour when it is closed [Pa]
    duration: how long [s]
    Source: drying-notes, moving front and desorption into a volume; the front warms while nothing cools it.
    """
    pressure, front = start.copy(), closed.front.copy()
    step = duration / STEPS
    pull = closed.ease.sum(axis=1) + closed.damping
    fade = closed.gas * pull * step
    kept = np.where(fade > 1e-9, -np.expm1(-fade) / np.maximum(fade, 1e-9), 1.0)
    for _ in range(STEPS):
        ice = _ice_vapour_pressure(front)
        source = (closed.ease * ice).sum(axis=1) + closed.desorbing + closed.damping * closed.vapour
        before = pressure
        pressure = before + closed.gas * (source - pull * before) * step * kept
        mean = np.where(
            fade > 1e-9, (source - (pressure - before) / (closed.gas * step)) / np.maximum(pull, 1e-30), before
        )
        latent = _sublimation_heat(front)
        excess = closed.heat - closed.ease * (ice - mean[:, None]) * latent
        per_kelvin = ice * (5723.265 / front**2 + 3.53068 / front - 0.00728332)
        stiff = step * closed.ease * per_kelvin * latent / closed.frozen
        front = np.minimum(front + step * excess / closed.frozen / (1.0 + stiff), WARMEST_ICE)
    return np.maximum(pressure, 0.0)


def leak_rise(leak: Array | float, volume: float, duration: float) -> Array | float:
    """Return by how much a leak raises the pressure of a closed chamber [Pa].

    leak: air that comes in [Pa m3/s]
    volume: free of food and shelves [m3]
    duration: how long [s]
    Source: leak-reference, Q = V dp/dt.

    >>> print(f"{leak_rise(2e-3, 0.030, 60.0):.1f}")
    4.0
    """
    return leak * duration / volume


def air_of(view: View) -> tuple[Array, Array]:
    """Return pressure of air [Pa] and air that leaks in [Pa m3/s], per member.

    view: of the tray
    Source: drystow-default, as in `draws.drawn_numbers`.
    """
    factor = np.exp(AIR_SPREAD * view.runs.draws[:, column("air")])
    rig = view.load.rig
    air = rig.air_pressure if rig.held else rig.dryer.air_pressure
    return air * factor, rig.dryer.leak * factor


def closed_chamber(view: View, index: int) -> Closed:
    """Return what fills the chamber of each member when it is closed.

    view: of any tray; all trays fill the chamber
    index: of the sample time
    Source: drying-notes, the same resistances and rates as in the balance of the run.
    """
    runs, dryer = view.runs, view.load.rig.dryer
    trays, gone = runs.trays, runs.dried_fraction[:, index]
    icy = gone < GONE
    pressure, air = runs.pressure[:, [index]], air_of(view)[0][:, None]
    vapour = np.maximum(runs.pressure[:, index] - air[:, 0], 1e-3)
    front = np.where(icy, np.minimum(runs.temperature[:, index], WARMEST_ICE), 250.0)
    depth = _depth(trays, np.where(icy, 1.0 - gone, 1.0))
    slope = trays[:, :, Tray.A1] / (1.0 + trays[:, :, Tray.VISCOUS] * vapour[:, None]) + AIR_RESISTANCE * air
    layer = slope * depth / (1.0 + trays[:, :, Tray.A2] * depth)
    over_ice = _ice_vapour_pressure(front)
    surface = _surface_temperature(view, index, front, depth)
    drop = np.maximum(over_ice - pressure + air, 0.0) * layer / (trays[:, :, Tray.R0] + layer)
    desorbing, damping = np.zeros(gone.shape), np.zeros(gone.shape)
    for cell in range(CELLS):
        share = np.clip(CELLS * gone - cell, 0.0, 1.0)
        place = _depth(trays, 1.0 - (cell + 0.5 * share) / CELLS) / np.maximum(depth, 1e-12)
        warm = np.where(icy, surface + (front - surface) * place, runs.temperature[:, index])
        within = np.where(icy, over_ice - (1.0 - place) * drop, vapour[:, None])
        lost, less = _desorption(trays, share, runs.water[:, index, :, cell], warm, np.maximum(within, 1e-3))
        desorbing += lost
        damping += less
    # What is desorbed has to pass the surface as well.
    back = desorbing * trays[:, :, Tray.R0] / trays[:, :, Tray.OUTER]
    flow = trays[:, :, Tray.OUTER] / (trays[:, :, Tray.R0] + layer) * (over_ice - pressure + air - back)
    flow = np.maximum(flow, 0.0)
    flow = np.where(icy, flow, 0.0)
    ice = trays[:, :, Tray.ICE] * np.maximum(1.0 - gone, LEAST_ICE)
    solids = trays[:, :, Tray.SOLIDS] * np.maximum(1.0 - gone, LEAST_ICE)
    shelf = runs.shelf[:, index]
    return Closed(
        gas=VAPOUR_GAS_CONSTANT * 0.5 * (shelf + dryer.room) / (FREE * dryer.chamber_volume),
        ease=flow / np.maximum(over_ice - vapour[:, None], 1e-3),  # at rest the vapour alone has the ice's pressure
        front=front,
        heat=flow * _sublimation_heat(front),
        frozen=ice * ICE_HEAT + solids * trays[:, :, Tray.HEAT_CAPACITY],
        desorbing=desorbing.sum(axis=1),
        damping=damping.sum(axis=1),
        vapour=vapour,
    )


def _depth(trays: Array, left: Array) -> Array:
    """Return the depth of the dried layer, as `balance.path`, for ice that is left [m]."""
    dimension, logarithm = trays[:, :, Tray.DIMENSION], np.log(np.maximum(left, 1e-9))
    stick = np.abs(dimension - STICK) < 1e-9
    beyond = np.where(stick, 1.0, dimension - STICK)
    depth = np.where(stick, -0.5 * logarithm, np.expm1(-beyond / dimension * logarithm) / beyond)
    result: Array = trays[:, :, Tray.LENGTH] * depth
    return result


def _surface_temperature(view: View, index: int, front: Array, depth: Array) -> Array:
    """Return the mean temperature of the surface of food with ice, as `balance.surface_temperature` [K]."""
    trays, pressure, rig = view.runs.trays, view.runs.pressure[:, [index]], view.load.rig
    shelf = view.runs.shelf[:, [index]]
    upper = rig.surroundings or shelf + (rig.upper_offset if rig.held else 0.0)
    gas = trays[:, :, Tray.KD_GAS] * pressure / (pressure + trays[:, :, Tray.KD_PRESSURE])
    through = depth / (trays[:, :, Tray.KD_VACUUM] + gas)
    h_above = np.maximum(trays[:, :, Tray.H_ABOVE], 1e-12)
    heat = trays[:, :, Tray.ABOVE] / (1.0 / h_above + through) * (upper - front)
    contact = trays[:, :, Tray.KV_CONSTANT] + trays[:, :, Tray.KV_GAS] * pressure / (
        1.0 + trays[:, :, Tray.KV_SATURATION] * pressure
    )
    below = trays[:, :, Tray.CONTACT] / (1.0 / contact + through) * (shelf - front)
    heat = heat + np.where(trays[:, :, Tray.RESTING] > 0.0, 0.0, below)
    surface = front + heat * through / trays[:, :, Tray.OUTER]
    result: Array = np.where(heat > 0.0, np.minimum(surface, np.maximum(shelf, upper)), surface)
    return result


def _desorption(trays: Array, share: Array, water: Array, warm: Array, within: Array) -> tuple[Array, Array]:
    """Return the vapour that a cell of each piece gives [kg/s], and how much less per pressure [kg/(s Pa)].

    share: of the cell that is dried [-]
    water: of the cell [-]
    warm: its temperature [K]
    within: pressure of vapour in it [Pa]
    """
    unfrozen = trays[:, :, Tray.UNFROZEN]
    balanced, more = (np.minimum(_equilibrium(trays, warm, factor * within), unfrozen) for factor in (1.0, 1.01))
    moisture = (water - (1.0 - share) * unfrozen) / np.maximum(share, 1e-9)
    moisture = np.clip(moisture, 0.0, unfrozen)
    rate = trays[:, :, Tray.DESORPTION_RATE] * np.exp(
        trays[:, :, Tray.DESORPTION_ENERGY] * (1.0 / REFERENCE_TEMPERATURE - 1.0 / warm)
    )
    rate = rate * np.clip((moisture / trays[:, :, Tray.MONOLAYER]) ** 3, 1.0, QUICKEST)
    leaving = share * np.minimum(rate, FASTEST_RATE) * trays[:, :, Tray.SOLIDS] / CELLS
    pull = leaving * (more - balanced) / (0.01 * within)
    covered = trays[:, :, Tray.R0] > COVERED  # behind a skin its own pressure holds the vapour back
    held_back = 1.0 / (1.0 + np.where(covered, pull * trays[:, :, Tray.R0] / trays[:, :, Tray.OUTER], 0.0))
    return leaving * (moisture - balanced) * held_back, pull * held_back


def _equilibrium(trays: Array, temperature: Array, vapour: Array) -> Array:
    activity = vapour / _liquid_vapour_pressure(temperature)
    heat = trays[:, :, Tray.SORPTION_HEAT] * np.maximum(1.0 - activity, 0.0)
    activity = np.minimum(activity * np.exp(-heat * (1.0 / SORPTION_TEMPERATURE - 1.0 / temperature)), HIGHEST_ACTIVITY)
    k = trays[:, :, Tray.GAB_K]
    activity = np.minimum(activity, HIGHEST_KA / k)
    return np.asarray(_gab_moisture(activity, trays[:, :, Tray.MONOLAYER], trays[:, :, Tray.GAB_C], k))


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
    leaks = np.stack([leak_rise(leak, FREE * view.load.rig.dryer.chamber_volume, row.duration) for row in rows], axis=1)
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
