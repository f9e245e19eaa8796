"""The coupled balance of all trays and the machine, compiled: rates of change of the state at one moment.

State: shelf temperature, trap ice and four energy totals, then for each tray the fraction measure u (1 at the start,
0 when the ice is gone; ice fraction left for slabs and sticks, its two-thirds power for spheres and cubes), the bound
water in the dried part, and the temperature of the dried food once the ice is gone.
"""

import math
from typing import Any

import numpy as np
from numba import njit

from drystow.constants import ICE_DENSITY, VAPOUR_HEAT_CAPACITY
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY, Machine, Tray
from drystow.numerics import Array
from drystow.properties.water import (
    _ice_vapour_pressure,
    _liquid_vapour_pressure,
    _sublimation_heat,
)

ice_pressure: Any = njit(_ice_vapour_pressure)
liquid_pressure: Any = njit(_liquid_vapour_pressure)
sublimation_heat: Any = njit(_sublimation_heat)

SLAB, STICK, SPHERE = 0, 2, 3
REFERENCE_TEMPERATURE = 303.15  # of the desorption rate [K]
SORPTION_TEMPERATURE = 298.15  # of the isotherm constants [K]
NEVER_ABOVE = 0.95  # water activity cap of the isotherm
SOLVED = 1e-5  # last temperature correction [K]; Newton's error is then far below


@njit(cache=True)
def ice_left(shape: float, u: float) -> float:
    """Return the fraction of the ice that is left [-]."""
    return u * math.sqrt(u) if shape == SPHERE else u


@njit(cache=True)
def path(shape: float, length: float, u: float) -> float:
    """Return the depth of the dried layer per outer area [m]."""
    if shape == STICK:
        return -0.5 * length * math.log(u)
    if shape == SPHERE:
        return length * (1.0 / math.sqrt(u) - 1.0)
    return length * (1.0 - u)


@njit(cache=True)
def equilibrium(tray: Array, temperature: float, vapour_pressure: float) -> float:
    """Return the moisture in equilibrium with the chamber's vapour, dry basis [-]."""
    activity = vapour_pressure / liquid_pressure(temperature)
    activity *= math.exp(-tray[Tray.SORPTION_HEAT] * (1.0 / SORPTION_TEMPERATURE - 1.0 / temperature))
    ka = tray[Tray.GAB_K] * min(activity, NEVER_ABOVE)
    if ka > 0.99:
        ka = 0.99
    return tray[Tray.MONOLAYER] * tray[Tray.GAB_C] * ka / ((1.0 - ka) * (1.0 - ka + tray[Tray.GAB_C] * ka))


@njit(cache=True)
def desorption_rate(tray: Array, temperature: float) -> float:
    """Return the first-order rate of desorption [1/s]."""
    return tray[Tray.DESORPTION_RATE] * math.exp(
        tray[Tray.DESORPTION_ENERGY] * (1.0 / REFERENCE_TEMPERATURE - 1.0 / temperature)
    )


@njit(cache=True)
def heat_paths(tray: Array, u: float, depth: float, pressure: float, out: Array) -> None:
    """Fill `out` with contact and above conductances [W/K], their pressure slopes [W/(K Pa)], and 1/(h k/l) share."""
    saturation = 1.0 + tray[Tray.KV_SATURATION] * pressure
    contact = tray[Tray.KV_CONSTANT] + tray[Tray.KV_GAS] * pressure / saturation
    contact_slope = tray[Tray.KV_GAS] / (saturation * saturation)
    rise = pressure + tray[Tray.KD_PRESSURE]
    layer = tray[Tray.KD_VACUUM] + tray[Tray.KD_GAS] * pressure / rise
    layer_slope = tray[Tray.KD_GAS] * tray[Tray.KD_PRESSURE] / (rise * rise)
    through = depth / layer
    through_slope = -through * layer_slope / layer
    if tray[Tray.SHAPE] == SLAB:
        below, below_slope = tray[Tray.LENGTH] * u / tray[Tray.K_FROZEN], 0.0
    else:
        below, below_slope = through, through_slope
    resistance = 1.0 / contact + below
    slope = -contact_slope / (contact * contact) + below_slope
    out[0] = tray[Tray.CONTACT] / resistance
    out[1] = -out[0] * slope / resistance
    h_above = tray[Tray.H_ABOVE]
    if h_above > 0.0:
        resistance = 1.0 / h_above + through
        out[2] = tray[Tray.ABOVE] / resistance
        out[3] = -out[2] * through_slope / resistance
        out[4] = 1.0 / (h_above * resistance)  # share of the temperature drop outside the dried layer
    else:
        out[2], out[3], out[4] = 0.0, 0.0, 1.0


@njit(cache=True)
def trap_state(machine: Array, flow: float, trap_ice: float, shelf: float, out: Array) -> float:
    """Return the chamber pressure that a vapour flow [kg/s] needs [Pa], and fill `out`.

    out: ice surface [K], evaporator [K], d(pressure)/d(flow), 1 when choked, refrigeration load [W]
    """
    vapour_heat = 2.8385e6 + VAPOUR_HEAT_CAPACITY * (max(shelf, 250.0) - machine[Machine.TRAP_FLOOR]) * 0.5
    slope = machine[Machine.REFRIGERATION] * machine[Machine.REFRIGERATION_SLOPE]
    losses = machine[Machine.ROOM_CONDUCTANCE] + machine[Machine.WALL_CONDUCTANCE]
    evaporator = (
        flow * vapour_heat
        + machine[Machine.ROOM_CONDUCTANCE] * machine[Machine.ROOM]
        + machine[Machine.WALL_CONDUCTANCE] * shelf
        - machine[Machine.REFRIGERATION]
        + slope * machine[Machine.REFRIGERATION_REFERENCE]
    ) / (slope + losses)
    evaporator_slope = vapour_heat / (slope + losses)
    if evaporator < machine[Machine.TRAP_FLOOR]:
        evaporator, evaporator_slope = machine[Machine.TRAP_FLOOR], 0.0
    area = machine[Machine.TRAP_AREA]
    through_ice = vapour_heat * trap_ice / (ICE_DENSITY * area * area * machine[Machine.TRAP_ICE_CONDUCTIVITY])
    surface = min(evaporator + flow * through_ice, 273.0)
    saturation = ice_pressure(surface)
    per_kelvin = saturation * (5723.265 / surface**2 + 3.53068 / surface - 0.00728332)
    flowing = saturation + flow / machine[Machine.VAPOUR_CONDUCTANCE]
    choked = flow / machine[Machine.CHOKED_CONDUCTANCE]
    out[0], out[1] = surface, evaporator
    out[4] = (
        flow * vapour_heat
        + machine[Machine.ROOM_CONDUCTANCE] * (machine[Machine.ROOM] - evaporator)
        + machine[Machine.WALL_CONDUCTANCE] * (shelf - evaporator)
    )
    if choked > flowing:
        out[2], out[3] = 1.0 / machine[Machine.CHOKED_CONDUCTANCE], 1.0
        return choked + machine[Machine.AIR_PRESSURE]
    out[2] = per_kelvin * (evaporator_slope + through_ice) + 1.0 / machine[Machine.VAPOUR_CONDUCTANCE]
    out[3] = 0.0
    return flowing + machine[Machine.AIR_PRESSURE]


@njit(cache=True)
def solve_fronts(state: Array, trays: Array, machine: Array, fronts: Array, seen: Array, rates: Array) -> int:
    """Solve front temperatures and chamber pressure together; return the iterations used (0: not solved).

    fronts: front temperature per tray [K], in: guess, out: solution; NaN-free also where the ice is gone
    seen: pressure [Pa], flow [kg/s], trap surface [K], evaporator [K], choked, refrigeration load [W]; in: guess
    rates: per tray (sublimation [kg/s], desorption [kg/s], contact heat [W], heat from above [W], mean temperature [K])
    """
    count = trays.shape[0]
    held = machine[Machine.HELD] > 0.0
    shelf = state[0]
    upper = shelf + machine[Machine.UPPER_OFFSET]
    conductance = np.empty(5)
    trap = np.empty(5)
    step_g = np.empty(count)
    step_p = np.empty(count)
    pressure = machine[Machine.HELD_PRESSURE] if held else seen[0]
    for iteration in range(1, 60):
        flow = 0.0
        flow_slope = 0.0  # of the flow with pressure, fronts following
        flow_change = 0.0  # of the flow by the Newton step of the fronts alone
        vapour = pressure if held else max(pressure - machine[Machine.AIR_PRESSURE], 1e-3)
        for j in range(count):
            tray = trays[j]
            base = MACHINE_STATES + j * STATES_PER_TRAY
            u = state[base]
            if u > 0.0:
                depth = path(tray[Tray.SHAPE], tray[Tray.LENGTH], u)
                front = fronts[j]
                resistance = tray[Tray.R0] + tray[Tray.A1] * depth / (1.0 + tray[Tray.A2] * depth)
                heat_paths(tray, u, depth, pressure, conductance)
                contact = conductance[0] * (shelf - front)
                above = conductance[2] * (upper - front)
                heat = contact + above
                latent = sublimation_heat(front)
                saturation = ice_pressure(front)
                per_kelvin = saturation * (5723.265 / front**2 + 3.53068 / front - 0.00728332)
                weight = resistance / tray[Tray.OUTER]
                lost = -(conductance[0] + conductance[2])
                gained = conductance[1] * (shelf - front) + conductance[3] * (upper - front)
                residual = heat * weight - (saturation - pressure) * latent
                by_front = lost * weight - per_kelvin * latent
                by_pressure = gained * weight + latent
                step_g[j] = -residual / by_front
                step_p[j] = -by_pressure / by_front
                flow += max(heat, 0.0) / latent
                flow_slope += (gained + lost * step_p[j]) / latent
                flow_change += lost * step_g[j] / latent
                surface = upper - (upper - front) * conductance[4]
                mean = 0.5 * (front + surface)
                rates[j, 0] = max(heat, 0.0) / latent
                rates[j, 2], rates[j, 3] = contact, above
            else:
                mean = state[base + 2]
                heat_paths(tray, 0.0, 0.5 * tray[Tray.LENGTH], pressure, conductance)
                half = (
                    0.5
                    * tray[Tray.LENGTH]
                    / (tray[Tray.KD_VACUUM] + tray[Tray.KD_GAS] * pressure / (pressure + tray[Tray.KD_PRESSURE]))
                )
                if tray[Tray.SHAPE] == SLAB:  # the dried layer, not frozen food, lies below the middle now
                    conductance[0] = tray[Tray.CONTACT] / (tray[Tray.CONTACT] / conductance[0] + half)
                rates[j, 0] = 0.0
                rates[j, 2] = conductance[0] * (shelf - mean)
                rates[j, 3] = conductance[2] * (upper - mean)
                fronts[j] = mean
                step_g[j], step_p[j] = 0.0, 0.0
            rates[j, 4] = mean
            dried = (1.0 - ice_left(tray[Tray.SHAPE], u)) * tray[Tray.SOLIDS]
            rates[j, 1] = desorption_rate(tray, mean) * (state[base + 1] - dried * equilibrium(tray, mean, vapour))
            flow += rates[j, 1]
        change = 0.0
        if held:
            seen[1] = flow
        else:
            flow_now = max(flow, 0.0)
            needed = trap_state(machine, flow_now, state[1], shelf, trap)
            change = (needed - pressure + trap[2] * flow_change) / (1.0 - trap[2] * flow_slope)
            change = min(max(change, -0.6 * pressure), 2.0 * pressure + 20.0)
            seen[1], seen[2], seen[3], seen[4], seen[5] = flow_now, trap[0], trap[1], trap[3], trap[4]
        largest = 0.0
        for j in range(count):
            move = step_g[j] + step_p[j] * change
            move = min(max(move, -15.0), 15.0)
            fronts[j] = min(max(fronts[j] + move, 150.0), 330.0)
            largest = max(largest, abs(move))
        pressure += change
        seen[0] = pressure
        if largest < SOLVED and abs(change) < 1e-6 * pressure:
            return iteration
    return 0
