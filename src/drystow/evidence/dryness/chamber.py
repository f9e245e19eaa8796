"""The chamber with the way to trap and pump closed: how fast ice and dried food fill it with vapour, and how far."""

from dataclasses import dataclass

import numpy as np

from drystow.constants import VAPOUR_GAS_CONSTANT
from drystow.evidence.dryness.courses import View
from drystow.evidence.dryness.reading import GONE
from drystow.machine.balance import REFERENCE_TEMPERATURE, SORPTION_TEMPERATURE, SPHERE, STICK
from drystow.machine.layout import Tray
from drystow.machine.sampling import AIR_SPREAD, column
from drystow.numerics import Array
from drystow.properties.sorption import HIGHEST_ACTIVITY, HIGHEST_KA, _gab_moisture
from drystow.properties.water import _ice_vapour_pressure, _liquid_vapour_pressure, _sublimation_heat

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
    dryer = view.load.dryer
    held = 0.0 if view.load.pressure is not None else 1.0
    return held * dryer.air_pressure * factor, dryer.leak * factor


def closed_chamber(view: View, look: int) -> Closed:
    """Return what fills the chamber of each member when it is closed.

    view: of any tray; all trays fill the chamber
    look: number of the look
    Source: drying-notes, the same resistances and rates as in the balance of the run.
    """
    runs, dryer = view.runs, view.load.dryer
    trays, gone = runs.trays, runs.dried_fraction[:, look]
    icy = gone < GONE
    vapour = np.maximum(runs.pressure[:, look] - air_of(view)[0], 1e-3)
    front = np.where(icy, np.minimum(runs.temperature[:, look], WARMEST_ICE), 250.0)
    depth = _depth(trays, np.where(icy, 1.0 - gone, 1.0))
    resistance = trays[:, :, Tray.R0] + trays[:, :, Tray.A1] * depth / (1.0 + trays[:, :, Tray.A2] * depth)
    over_ice = _ice_vapour_pressure(front)
    flow = np.maximum(trays[:, :, Tray.OUTER] / resistance * (over_ice - runs.pressure[:, [look]]), 0.0)
    flow = np.where(icy, flow, 0.0)
    ice = trays[:, :, Tray.ICE] * np.maximum(1.0 - gone, LEAST_ICE)
    solids = trays[:, :, Tray.SOLIDS] * np.maximum(1.0 - gone, LEAST_ICE)
    shelf = runs.shelf[:, look]
    warm = np.where(icy, _layer_temperature(view, look, front, depth), runs.temperature[:, look])
    desorbing, damping = _desorption(trays, gone, runs.moisture[:, look], warm, vapour)
    return Closed(
        gas=VAPOUR_GAS_CONSTANT * 0.5 * (shelf + dryer.room) / (FREE * dryer.chamber_volume),
        ease=flow / np.maximum(over_ice - vapour[:, None], 1e-3),  # at rest the vapour alone has the ice's pressure
        front=front,
        heat=flow * _sublimation_heat(front),
        frozen=ice * ICE_HEAT + solids * trays[:, :, Tray.HEAT_CAPACITY],
        desorbing=desorbing,
        damping=damping,
        vapour=vapour,
    )


def _depth(trays: Array, left: Array) -> Array:
    """Return the depth of the dried layer, as `balance.path`, for ice that is left [m]."""
    shape, length = trays[:, :, Tray.SHAPE], trays[:, :, Tray.LENGTH]
    left = np.maximum(left, 1e-9)
    flat, round_ = 1.0 - left, np.cbrt(1.0 / left) - 1.0
    curved = np.where(shape == SPHERE, round_, -0.5 * np.log(left))
    result: Array = length * np.where((shape == SPHERE) | (shape == STICK), curved, flat)
    return result


def _layer_temperature(view: View, look: int, front: Array, depth: Array) -> Array:
    """Return the mean temperature of the dried layer, as `balance.heat_paths` [K]."""
    trays, pressure = view.runs.trays, view.runs.pressure[:, [look]]
    upper = view.runs.shelf[:, [look]] + (view.load.upper_offset if view.load.pressure is not None else 0.0)
    gas = trays[:, :, Tray.KD_GAS] * pressure / (pressure + trays[:, :, Tray.KD_PRESSURE])
    through = trays[:, :, Tray.H_ABOVE] * depth / (trays[:, :, Tray.KD_VACUUM] + gas)
    surface = upper - (upper - front) / (1.0 + through)
    result: Array = 0.5 * (front + surface)
    return result


def _desorption(trays: Array, gone: Array, moisture: Array, warm: Array, vapour: Array) -> tuple[Array, Array]:
    solids = trays[:, :, Tray.SOLIDS]
    rate = trays[:, :, Tray.DESORPTION_RATE] * np.exp(
        trays[:, :, Tray.DESORPTION_ENERGY] * (1.0 / REFERENCE_TEMPERATURE - 1.0 / warm)
    )
    frozen = (1.0 - gone) * (trays[:, :, Tray.ICE] / solids + trays[:, :, Tray.BOUND])
    held = gone * _equilibrium(trays, warm, vapour[:, None])
    more = gone * _equilibrium(trays, warm, 1.01 * vapour[:, None])
    flow = (rate * solids * (moisture - frozen - held)).sum(axis=1)
    damping = (rate * solids * (more - held)).sum(axis=1) / (0.01 * vapour)
    return flow, damping


def _equilibrium(trays: Array, temperature: Array, vapour: Array) -> Array:
    heat = trays[:, :, Tray.SORPTION_HEAT]
    activity = vapour / _liquid_vapour_pressure(temperature)
    activity = np.minimum(activity * np.exp(-heat * (1.0 / SORPTION_TEMPERATURE - 1.0 / temperature)), HIGHEST_ACTIVITY)
    k = trays[:, :, Tray.GAB_K]
    activity = np.minimum(activity, HIGHEST_KA / k)
    return np.asarray(_gab_moisture(activity, trays[:, :, Tray.MONOLAYER], trays[:, :, Tray.GAB_C], k))
