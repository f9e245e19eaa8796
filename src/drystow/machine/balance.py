"""The coupled balance of all trays and the machine, compiled: rates of change of the state at one moment.

The arrays and their columns are those of `layout`. How much ice is left is followed by a measure u, 1 at the start and
0 when the ice is gone: the ice fraction for slabs and sticks, its two-thirds power for spheres and cubes. It falls
nearly straight with time; the fraction itself flattens out to the end, where steps would become ever smaller.
"""

import math
from typing import Any, NamedTuple

from drystow.constants import ICE_DENSITY, VAPOUR_HEAT_CAPACITY
from drystow.machine.layout import (
    MACHINE_STATES,
    STATES_PER_TRAY,
    ChamberState,
    FoodState,
    ItemState,
    Machine,
    State,
    Tray,
)
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
MOST_ITERATIONS = 59
COLDEST_FRONT, WARMEST_FRONT, FARTHEST_MOVE = 150.0, 330.0, 15.0  # while Newton looks for the front [K]
LEAST_VAPOUR = 1e-3  # pressure of vapour that an isotherm is asked for [Pa]
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
def heat_paths(tray: Array, u: float, depth: float, pressure: float, food: Array) -> None:
    """Fill the conductances of a row of `FoodState`, their slopes, and the share outside the dried layer."""
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
    food[FoodState.CONTACT] = tray[Tray.CONTACT] / resistance
    food[FoodState.CONTACT_SLOPE] = -food[FoodState.CONTACT] * slope / resistance
    h_above = tray[Tray.H_ABOVE]
    if h_above > 0.0:
        resistance = 1.0 / h_above + through
        food[FoodState.ABOVE] = tray[Tray.ABOVE] / resistance
        food[FoodState.ABOVE_SLOPE] = -food[FoodState.ABOVE] * through_slope / resistance
        food[FoodState.OUTSIDE] = 1.0 / (h_above * resistance)
    else:
        food[FoodState.ABOVE], food[FoodState.ABOVE_SLOPE], food[FoodState.OUTSIDE] = 0.0, 0.0, 1.0


class TrapState(NamedTuple):
    """What a vapour flow makes of the trap.

    pressure: of the chamber, that the flow needs [Pa]
    slope: of that pressure with the flow [Pa s/kg]
    surface: of the trap's ice [K]
    evaporator: its temperature [K]
    choked: 1 when vapour passes the opening at the speed of sound, else 0 [-]
    load: of the refrigeration [W]
    """

    pressure: float
    slope: float
    surface: float
    evaporator: float
    choked: float
    load: float


@compiled
def trap_state(machine: Array, flow: float, trap_ice: float, shelf: float) -> TrapState:
    """Return what a vapour flow [kg/s] makes of the trap, and the chamber pressure that it needs."""
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
    load = (
        flow * vapour_heat
        + machine[Machine.ROOM_CONDUCTANCE] * (machine[Machine.ROOM] - evaporator)
        + machine[Machine.WALL_CONDUCTANCE] * (shelf - evaporator)
    )
    air = machine[Machine.AIR_PRESSURE]
    if choked > flowing:
        return TrapState(choked + air, 1.0 / machine[Machine.CHOKED_CONDUCTANCE], surface, evaporator, 1.0, load)
    pressure_slope = per_kelvin * (evaporator_slope + through_ice) + 1.0 / machine[Machine.VAPOUR_CONDUCTANCE]
    return TrapState(flowing + air, pressure_slope, surface, evaporator, 0.0, load)


@compiled
def desorb(state: Array, trays: Array, machine: Array, pressure: float, foods: Array) -> float:
    """Fill the desorption of every tray at its mean temperature and return the sum [kg/s]."""
    air = 0.0 if machine[Machine.HELD] > 0.0 else machine[Machine.AIR_PRESSURE]  # a held chamber is all vapour
    vapour = max(pressure - air, LEAST_VAPOUR)
    total = 0.0
    for j in range(trays.shape[0]):
        tray = trays[j]
        base = MACHINE_STATES + j * STATES_PER_TRAY
        dried = (1.0 - ice_left(tray[Tray.SHAPE], state[base + ItemState.FRACTION])) * tray[Tray.SOLIDS]
        mean = foods[j, FoodState.MEAN_TEMPERATURE]
        moisture = dried * equilibrium(tray, mean, vapour)
        desorption = desorption_rate(tray, mean) * (state[base + ItemState.BOUND] - moisture)
        foods[j, FoodState.DESORPTION] = desorption
        total += desorption
    return total


@compiled
def solve_fronts(state: Array, trays: Array, machine: Array, foods: Array, chamber: Array) -> int:
    """Solve front temperatures and chamber pressure together by Newton; return the iterations used (0: not solved).

    foods: `FoodState`, a row for each tray item; its front in: guess, out: solution
    chamber: `ChamberState`; in: guess, out: solution
    """
    held = machine[Machine.HELD] > 0.0
    shelf = state[State.SHELF]
    upper = shelf + machine[Machine.UPPER_OFFSET]
    pressure = machine[Machine.HELD_PRESSURE] if held else chamber[ChamberState.PRESSURE]
    desorbed = chamber[ChamberState.DESORBED]
    for iteration in range(1, MOST_ITERATIONS + 1):
        flow, flow_slope, flow_change = all_moves(state, trays, upper, pressure, foods)
        # Bound water leaves slowly and hardly changes with the fronts: once worked out, near them, is enough.
        if iteration == 2:
            desorbed = desorb(state, trays, machine, pressure, foods)
        flow += desorbed
        change = 0.0
        if not held:
            trap = trap_state(machine, max(flow, 0.0), state[State.TRAP_ICE], shelf)
            change = (trap.pressure - pressure + trap.slope * flow_change) / (1.0 - trap.slope * flow_slope)
            change = min(max(change, -0.6 * pressure), 2.0 * pressure + 20.0)
        largest = move_fronts(state, change, foods)
        pressure += change
        # Never after the first: the desorption in it is that of another moment.
        if iteration > 1 and largest < SOLVED and abs(change) < 1e-4 * pressure:
            flow = settle(state, upper, change, foods)
            desorbed = desorb(state, trays, machine, pressure, foods)
            chamber[ChamberState.PRESSURE], chamber[ChamberState.DESORBED] = pressure, desorbed
            settle_trap(state, machine, flow + desorbed, chamber)
            return iteration
    return 0


@compiled
def all_moves(state: Array, trays: Array, upper: float, pressure: float, foods: Array) -> tuple[float, float, float]:
    """Return the flow from all fronts [kg/s], its slope with pressure and its change by the moves of the fronts."""
    shelf = state[State.SHELF]
    flow = flow_slope = flow_change = 0.0
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        u = state[base + ItemState.FRACTION]
        if u <= 0.0:
            temperature = state[base + ItemState.TEMPERATURE]
            dried_heat(trays[j], temperature, shelf, upper, pressure, foods[j])
            foods[j, FoodState.FRONT] = temperature
        else:
            own, own_slope, own_change = front_move(trays[j], u, shelf, upper, pressure, foods[j])
            flow += own
            flow_slope += own_slope
            flow_change += own_change
    return flow, flow_slope, flow_change


@compiled
def front_move(
    tray: Array, u: float, shelf: float, upper: float, pressure: float, food: Array
) -> tuple[float, float, float]:
    """Fill the Newton step of a front, and return its flow [kg/s] with the slope and the change as `all_moves` does.

    The step is that of the front at this pressure, and how it changes with the pressure's own step: so all fronts meet
    in one equation for the pressure, instead of one system of all of them.
    """
    front = food[FoodState.FRONT]
    depth = path(tray[Tray.SHAPE], tray[Tray.LENGTH], u)
    heat_paths(tray, u, depth, pressure, food)
    contact, above = food[FoodState.CONTACT] * (shelf - front), food[FoodState.ABOVE] * (upper - front)
    latent = sublimation_heat(front)
    saturation = ice_pressure(front)
    per_kelvin = saturation * (5723.265 / front**2 + 3.53068 / front - 0.00728332)
    resistance = tray[Tray.R0] + tray[Tray.A1] * depth / (1.0 + tray[Tray.A2] * depth)
    weight = resistance / tray[Tray.OUTER]
    lost = -(food[FoodState.CONTACT] + food[FoodState.ABOVE])
    gained = food[FoodState.CONTACT_SLOPE] * (shelf - front) + food[FoodState.ABOVE_SLOPE] * (upper - front)
    by_front = lost * weight - per_kelvin * latent
    move = -((contact + above) * weight - (saturation - pressure) * latent) / by_front
    move_slope = -(gained * weight + latent) / by_front
    food[FoodState.MOVE], food[FoodState.MOVE_SLOPE], food[FoodState.LATENT] = move, move_slope, latent
    food[FoodState.CONTACT_BEFORE], food[FoodState.ABOVE_BEFORE] = contact, above
    food[FoodState.MEAN_TEMPERATURE] = 0.5 * (front + upper - (upper - front) * food[FoodState.OUTSIDE])
    return max(contact + above, 0.0) / latent, (gained + lost * move_slope) / latent, lost * move / latent


@compiled
def move_fronts(state: Array, change: float, foods: Array) -> float:
    """Move every front with a change of the pressure [Pa], and return the largest move [K]."""
    largest = 0.0
    for j in range(foods.shape[0]):
        if state[MACHINE_STATES + j * STATES_PER_TRAY + ItemState.FRACTION] > 0.0:
            move = foods[j, FoodState.MOVE] + foods[j, FoodState.MOVE_SLOPE] * change
            move = min(max(move, -FARTHEST_MOVE), FARTHEST_MOVE)
            foods[j, FoodState.MOVE] = move
            foods[j, FoodState.FRONT] = min(max(foods[j, FoodState.FRONT] + move, COLDEST_FRONT), WARMEST_FRONT)
            largest = max(largest, abs(move))
    return largest


@compiled
def dried_heat(tray: Array, mean: float, shelf: float, upper: float, pressure: float, food: Array) -> None:
    """Fill the heat flows into food whose ice is gone, from both sides to the middle of the dried layer."""
    half = 0.5 * tray[Tray.LENGTH]
    heat_paths(tray, 0.0, half, pressure, food)
    contact = food[FoodState.CONTACT]
    if tray[Tray.SHAPE] == SLAB and contact > 0.0:  # dried layer, not frozen food, lies below the middle now
        rise = pressure / (pressure + tray[Tray.KD_PRESSURE])
        through = half / (tray[Tray.KD_VACUUM] + tray[Tray.KD_GAS] * rise)
        food[FoodState.CONTACT] = tray[Tray.CONTACT] / (tray[Tray.CONTACT] / contact + through)
    food[FoodState.SUBLIMATION] = 0.0
    food[FoodState.CONTACT_HEAT] = food[FoodState.CONTACT] * (shelf - mean)
    food[FoodState.ABOVE_HEAT] = food[FoodState.ABOVE] * (upper - mean)
    food[FoodState.MEAN_TEMPERATURE] = mean


@compiled
def settle(state: Array, upper: float, change: float, foods: Array) -> float:
    """Carry the rates over the last small Newton move, which leaves an error of its square; return the flow [kg/s]."""
    shelf, flow = state[State.SHELF], 0.0
    for j in range(foods.shape[0]):
        if state[MACHINE_STATES + j * STATES_PER_TRAY + ItemState.FRACTION] <= 0.0:
            continue
        food = foods[j]
        move, front = food[FoodState.MOVE], food[FoodState.FRONT]
        contact = food[FoodState.CONTACT_BEFORE] - food[FoodState.CONTACT] * move
        above = food[FoodState.ABOVE_BEFORE] - food[FoodState.ABOVE] * move
        contact += food[FoodState.CONTACT_SLOPE] * (shelf - front) * change
        above += food[FoodState.ABOVE_SLOPE] * (upper - front) * change
        sublimation = max(contact + above, 0.0) / food[FoodState.LATENT]
        food[FoodState.CONTACT_HEAT], food[FoodState.ABOVE_HEAT] = contact, above
        food[FoodState.SUBLIMATION] = sublimation
        food[FoodState.MEAN_TEMPERATURE] = 0.5 * (front + upper - (upper - front) * food[FoodState.OUTSIDE])
        flow += sublimation
    return flow


@compiled
def settle_trap(state: Array, machine: Array, flow: float, chamber: Array) -> None:
    """Fill the flow to the trap and what it makes of the trap; a held chamber has none."""
    chamber[ChamberState.FLOW] = flow
    if machine[Machine.HELD] > 0.0:
        return
    chamber[ChamberState.FLOW] = max(flow, 0.0)
    trap = trap_state(machine, chamber[ChamberState.FLOW], state[State.TRAP_ICE], state[State.SHELF])
    chamber[ChamberState.TRAP_SURFACE], chamber[ChamberState.EVAPORATOR] = trap.surface, trap.evaporator
    chamber[ChamberState.CHOKED], chamber[ChamberState.REFRIGERATION_LOAD] = trap.choked, trap.load
