"""The coupled balance of all trays and the machine, compiled: rates of change of the state at one moment.

State: shelf temperature, trap ice and four energy totals, then for each tray the fraction measure u (1 at the start,
0 when the ice is gone; ice fraction left for slabs and sticks, its two-thirds power for spheres and cubes), the bound
water in the dried part, and the temperature of the dried food once the ice is gone.
"""

import math
from typing import Any

import numpy as np

from drystow.constants import ICE_DENSITY, VAPOUR_HEAT_CAPACITY
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY, Machine, Tray
from drystow.numerics import Array
from drystow.numerics.compiled import compiled, inlined
from drystow.properties.sorption import HIGHEST_ACTIVITY, HIGHEST_KA
from drystow.properties.water import (
    _ice_vapour_pressure,
    _liquid_vapour_pressure,
    _sublimation_heat,
)

ice_pressure: Any = inlined(_ice_vapour_pressure)
liquid_pressure: Any = inlined(_liquid_vapour_pressure)
sublimation_heat: Any = inlined(_sublimation_heat)

SLAB, STICK, SPHERE = 0, 2, 3
REFERENCE_TEMPERATURE = 303.15  # of the desorption rate [K]
SORPTION_TEMPERATURE = 298.15  # of the isotherm constants [K]
SOLVED = 1e-3  # last temperature correction [K]; Newton's error is about its square


@compiled
def ice_left(shape: float, u: float) -> float:
    """Return the fraction of the ice that is left [-]."""
    return u * math.sqrt(u) if shape == SPHERE else u


@compiled
def path(shape: float, length: float, u: float) -> float:
    """Return the depth of the dried layer per outer area [m]."""
    if shape == STICK:
        return -0.5 * length * math.log(u)
    if shape == SPHERE:
        return length * (1.0 / math.sqrt(u) - 1.0)
    return length * (1.0 - u)


@compiled
def equilibrium(tray: Array, temperature: float, vapour_pressure: float) -> float:
    """Return the moisture in equilibrium with the chamber's vapour, dry basis [-]."""
    activity = vapour_pressure / liquid_pressure(temperature)
    activity *= math.exp(-tray[Tray.SORPTION_HEAT] * (1.0 / SORPTION_TEMPERATURE - 1.0 / temperature))
    ka = tray[Tray.GAB_K] * min(activity, HIGHEST_ACTIVITY)
    if ka > HIGHEST_KA:
        ka = HIGHEST_KA
    return tray[Tray.MONOLAYER] * tray[Tray.GAB_C] * ka / ((1.0 - ka) * (1.0 - ka + tray[Tray.GAB_C] * ka))


@compiled
def desorption_rate(tray: Array, temperature: float) -> float:
    """Return the first-order rate of desorption [1/s]."""
    return tray[Tray.DESORPTION_RATE] * math.exp(
        tray[Tray.DESORPTION_ENERGY] * (1.0 / REFERENCE_TEMPERATURE - 1.0 / temperature)
    )


@compiled
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


@compiled
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


@compiled
def desorb(state: Array, trays: Array, vapour: float, rates: Array) -> float:
    """Fill the desorption of every tray at its mean temperature and return the sum [kg/s]."""
    total = 0.0
    for j in range(trays.shape[0]):
        tray = trays[j]
        base = MACHINE_STATES + j * STATES_PER_TRAY
        dried = (1.0 - ice_left(tray[Tray.SHAPE], state[base])) * tray[Tray.SOLIDS]
        moisture = dried * equilibrium(tray, rates[j, 4], vapour)
        rates[j, 1] = desorption_rate(tray, rates[j, 4]) * (state[base + 1] - moisture)
        total += rates[j, 1]
    return total


@compiled
def solve_fronts(
    state: Array, trays: Array, machine: Array, fronts: Array, seen: Array, rates: Array, work: Array
) -> int:
    """Solve front temperatures and chamber pressure together by Newton; return the iterations used (0: not solved).

    fronts: front temperature per tray [K], in: guess, out: solution; the dried food's where the ice is gone
    seen: pressure [Pa], flow [kg/s], trap surface [K], evaporator [K], choked, refrigeration load [W],
        desorption [kg/s]; in: guess
    rates: per tray (sublimation [kg/s], desorption [kg/s], contact heat [W], heat from above [W], mean temperature [K])
    work: scratch, one row of ten per tray
    """
    count = trays.shape[0]
    held = machine[Machine.HELD] > 0.0
    shelf = state[0]
    upper = shelf + machine[Machine.UPPER_OFFSET]
    trap = np.empty(5)
    pressure = machine[Machine.HELD_PRESSURE] if held else seen[0]
    desorbed = seen[6]
    for iteration in range(1, 60):
        flow = 0.0
        flow_slope = 0.0  # of the flow with pressure, fronts following
        flow_change = 0.0  # of the flow by the Newton step of the fronts alone
        for j in range(count):
            tray = trays[j]
            u = state[MACHINE_STATES + j * STATES_PER_TRAY]
            if u <= 0.0:
                dried_heat(
                    tray, state[MACHINE_STATES + j * STATES_PER_TRAY + 2], shelf, upper, pressure, rates[j], work[j]
                )
                fronts[j] = rates[j, 4]
                continue
            depth = path(tray[Tray.SHAPE], tray[Tray.LENGTH], u)
            front = fronts[j]
            conductance = work[j]
            heat_paths(tray, u, depth, pressure, conductance)
            contact, above = conductance[0] * (shelf - front), conductance[2] * (upper - front)
            latent = sublimation_heat(front)
            saturation = ice_pressure(front)
            per_kelvin = saturation * (5723.265 / front**2 + 3.53068 / front - 0.00728332)
            resistance = tray[Tray.R0] + tray[Tray.A1] * depth / (1.0 + tray[Tray.A2] * depth)
            weight = resistance / tray[Tray.OUTER]
            lost = -(conductance[0] + conductance[2])
            gained = conductance[1] * (shelf - front) + conductance[3] * (upper - front)
            by_front = lost * weight - per_kelvin * latent
            step = -((contact + above) * weight - (saturation - pressure) * latent) / by_front
            step_by_pressure = -(gained * weight + latent) / by_front
            conductance[5], conductance[6], conductance[7] = step, step_by_pressure, latent
            conductance[8], conductance[9] = contact, above
            flow += max(contact + above, 0.0) / latent
            flow_slope += (gained + lost * step_by_pressure) / latent
            flow_change += lost * step / latent
            rates[j, 4] = 0.5 * (front + upper - (upper - front) * conductance[4])
        if iteration == 2:
            desorbed = desorb(state, trays, max(pressure - machine[Machine.AIR_PRESSURE] * (not held), 1e-3), rates)
        flow += desorbed
        change = 0.0
        if not held:
            needed = trap_state(machine, max(flow, 0.0), state[1], shelf, trap)
            change = (needed - pressure + trap[2] * flow_change) / (1.0 - trap[2] * flow_slope)
            change = min(max(change, -0.6 * pressure), 2.0 * pressure + 20.0)
        largest = 0.0
        for j in range(count):
            if state[MACHINE_STATES + j * STATES_PER_TRAY] > 0.0:
                move = min(max(work[j, 5] + work[j, 6] * change, -15.0), 15.0)
                work[j, 5] = move
                fronts[j] = min(max(fronts[j] + move, 150.0), 330.0)
                largest = max(largest, abs(move))
        pressure += change
        if iteration > 1 and largest < SOLVED and abs(change) < 1e-4 * pressure:
            settle(state, trays, machine, shelf, upper, pressure, change, held, fronts, seen, rates, work)
            return iteration
    return 0


@compiled
def dried_heat(
    tray: Array, mean: float, shelf: float, upper: float, pressure: float, rates: Array, conductance: Array
) -> None:
    """Fill the heat flows into food whose ice is gone, from both sides to the middle of the dried layer."""
    half = 0.5 * tray[Tray.LENGTH]
    heat_paths(tray, 0.0, half, pressure, conductance)
    if tray[Tray.SHAPE] == SLAB and conductance[0] > 0.0:  # dried layer, not frozen food, lies below the middle now
        rise = pressure / (pressure + tray[Tray.KD_PRESSURE])
        through = half / (tray[Tray.KD_VACUUM] + tray[Tray.KD_GAS] * rise)
        conductance[0] = tray[Tray.CONTACT] / (tray[Tray.CONTACT] / conductance[0] + through)
    rates[0] = 0.0
    rates[2] = conductance[0] * (shelf - mean)
    rates[3] = conductance[2] * (upper - mean)
    rates[4] = mean


@compiled
def settle(
    state: Array,
    trays: Array,
    machine: Array,
    shelf: float,
    upper: float,
    pressure: float,
    change: float,
    held: bool,
    fronts: Array,
    seen: Array,
    rates: Array,
    work: Array,
) -> None:
    """Carry the rates over the last small Newton move, which leaves an error of its square."""
    flow = 0.0
    for j in range(trays.shape[0]):
        if state[MACHINE_STATES + j * STATES_PER_TRAY] > 0.0:
            row, move, front = work[j], work[j, 5], fronts[j]
            rates[j, 2] = row[8] - row[0] * move + row[1] * (shelf - front) * change
            rates[j, 3] = row[9] - row[2] * move + row[3] * (upper - front) * change
            rates[j, 0] = max(rates[j, 2] + rates[j, 3], 0.0) / row[7]
            rates[j, 4] = 0.5 * (front + upper - (upper - front) * row[4])
            flow += rates[j, 0]
    seen[6] = desorb(state, trays, max(pressure - machine[Machine.AIR_PRESSURE] * (not held), 1e-3), rates)
    flow += seen[6]
    seen[0], seen[1] = pressure, flow
    if not held:
        trap = np.empty(5)
        seen[1] = max(flow, 0.0)
        trap_state(machine, seen[1], state[1], shelf, trap)
        seen[2], seen[3], seen[4], seen[5] = trap[0], trap[1], trap[3], trap[4]
