"""The coupled balance of all trays and the machine, compiled: rates of change of the state at one moment.

The arrays and their columns are those of `layout`. How much ice is left is followed by a measure u, 1 at the start and
0 when the ice is gone: the ice fraction up to sticks, its power of 2 over the shape number beyond. It falls nearly
straight with time; the fraction itself flattens out to the end, where steps would become ever smaller.
"""

from typing import Any, NamedTuple

from drystow.constants import ICE_DENSITY, VAPOUR_HEAT_CAPACITY
from drystow.machine.dried_layer import (
    LEAST_VAPOUR,
    desorb_behind_front,
    desorb_dried,
    heat_paths,
    ice_left,
    ice_pressure,
    path,
    slope_of_resistance,
)
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
from drystow.properties.water import _sublimation_heat

sublimation_heat: Any = inlined(_sublimation_heat)

MOST_ITERATIONS = 99
COLDEST_FRONT, WARMEST_FRONT, FARTHEST_MOVE = 150.0, 330.0, 15.0  # while Newton looks for the front [K]
NEAR = 0.005  # fronts that have moved less than this leave the desorption as it is [K]
SOLVED = 1e-3  # last temperature correction [K]; Newton's error is about its square


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
def desorb(state: Array, trays: Array, machine: Array, pressure: float, foods: Array, kept: float) -> float:
    """Fill the desorption of every tray and return the sum [kg/s].

    kept: share of the former heat missing at the fronts that stays, while Newton looks for them [-]
    """
    air = machine[Machine.AIR_PRESSURE]
    vapour = max(pressure - air, LEAST_VAPOUR)
    shelf = state[State.SHELF]
    upper = upper_temperature(machine, shelf)
    total = 0.0
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        if state[base + ItemState.FRACTION] > 0.0:
            before = foods[j, FoodState.SINK]
            total += desorb_behind_front(state, base, trays[j], shelf, upper, pressure, air, foods[j])
            foods[j, FoodState.SINK] += kept * (before - foods[j, FoodState.SINK])
            back = foods[j, FoodState.DESORPTION] * trays[j, Tray.R0] / trays[j, Tray.OUTER]
            foods[j, FoodState.BACK] = kept * foods[j, FoodState.BACK] + (1.0 - kept) * max(back, 0.0)
        else:
            total += desorb_dried(state, base, trays[j], vapour, foods[j])
    return total


@compiled
def upper_temperature(machine: Array, shelf: float) -> float:
    """Return the temperature of what the food sees above it [K]."""
    around = machine[Machine.SURROUNDINGS]
    return around if around > 0.0 else shelf + machine[Machine.UPPER_OFFSET]


@compiled
def solve_fronts(state: Array, trays: Array, machine: Array, foods: Array, chamber: Array) -> int:
    """Solve front temperatures and chamber pressure together by Newton; return the iterations used (0: not solved).

    foods: `FoodState`, a row for each tray item; its front in: guess, out: solution
    chamber: `ChamberState`; in: guess, out: solution
    """
    held = machine[Machine.HELD] > 0.0
    shelf = state[State.SHELF]
    upper = upper_temperature(machine, shelf)
    air = machine[Machine.AIR_PRESSURE]
    pressure = machine[Machine.HELD_PRESSURE] if held else chamber[ChamberState.PRESSURE]
    desorbed, desorbed_slope, moving = chamber[ChamberState.DESORBED], 0.0, 0.0
    for iteration in range(1, MOST_ITERATIONS + 1):
        # Desorption is slow and hardly changes with the fronts: once worked out, near them, is enough.
        fresh = iteration == 2 or moving > NEAR
        if fresh:
            # Where desorption answers fronts and pressure strongly, whole steps would go to and fro for ever.
            kept = 0.0 if iteration < 5 else min(0.1 * iteration, 0.8)
            desorbed = kept * desorbed + (1.0 - kept) * desorb(state, trays, machine, pressure, foods, kept)
            desorbed_slope = foods[:, FoodState.DESORPTION_SLOPE].sum()
        flow, flow_slope, flow_change = all_moves(state, trays, upper, pressure, air, foods)
        flow += desorbed
        flow_slope += desorbed_slope
        change = 0.0
        if not held:
            trap = trap_state(machine, max(flow, 0.0), state[State.TRAP_ICE], shelf)
            change = (trap.pressure - pressure + trap.slope * flow_change) / (1.0 - trap.slope * flow_slope)
            change = min(max(change, -0.6 * pressure), 2.0 * pressure + 20.0)
        largest = move_fronts(state, change, foods)
        pressure += change
        desorbed += desorbed_slope * change
        # Never after the first: the desorption in it is that of another moment.
        moving = max(largest, abs(change) / (1e-4 * pressure) * SOLVED)
        if iteration > 1 and moving < SOLVED:
            flow = settle(state, upper, change, foods)
            if not fresh:
                desorbed = desorb(state, trays, machine, pressure, foods, 0.0)
            chamber[ChamberState.PRESSURE], chamber[ChamberState.DESORBED] = pressure, desorbed
            settle_trap(state, machine, flow + desorbed, chamber)
            return iteration
    return 0


@compiled
def all_moves(
    state: Array, trays: Array, upper: float, pressure: float, air: float, foods: Array
) -> tuple[float, float, float]:
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
            own, own_slope, own_change = front_move(trays[j], u, shelf, upper, pressure, air, foods[j])
            flow += own
            flow_slope += own_slope
            flow_change += own_change
    return flow, flow_slope, flow_change


@compiled
def front_move(
    tray: Array, u: float, shelf: float, upper: float, pressure: float, air: float, food: Array
) -> tuple[float, float, float]:
    """Fill the Newton step of a front, and return its flow [kg/s] with the slope and the change as `all_moves` does.

    The step is that of the front at this pressure, and how it changes with the pressure's own step: so all fronts meet
    in one equation for the pressure, instead of one system of all of them.
    """
    front = food[FoodState.FRONT]
    left = ice_left(tray[Tray.DIMENSION], u)
    depth = path(tray[Tray.DIMENSION], tray[Tray.LENGTH], left)
    heat_paths(tray, left, depth, pressure, food)
    contact, above = food[FoodState.CONTACT] * (shelf - front), food[FoodState.ABOVE] * (upper - front)
    heat = contact + above - food[FoodState.SINK]
    latent = sublimation_heat(front)
    saturation = ice_pressure(front)
    per_kelvin = saturation * (5723.265 / front**2 + 3.53068 / front - 0.00728332)
    slope = slope_of_resistance(tray, pressure, air)
    weight = (tray[Tray.R0] + slope * depth / (1.0 + tray[Tray.A2] * depth)) / tray[Tray.OUTER]
    lost = -(food[FoodState.CONTACT] + food[FoodState.ABOVE])
    gained = food[FoodState.CONTACT_SLOPE] * (shelf - front) + food[FoodState.ABOVE_SLOPE] * (upper - front)
    by_front = lost * weight - per_kelvin * latent
    beyond = saturation - pressure + air - food[FoodState.BACK]
    move = -(heat * weight - beyond * latent) / by_front
    move_slope = -(gained * weight + latent) / by_front
    food[FoodState.MOVE], food[FoodState.MOVE_SLOPE], food[FoodState.LATENT] = move, move_slope, latent
    food[FoodState.CONTACT_BEFORE], food[FoodState.ABOVE_BEFORE] = contact, above
    return max(heat, 0.0) / latent, (gained + lost * move_slope) / latent, lost * move / latent


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
    # The foot of a slab is all of it: dried layer, not frozen food, lies below its middle now.
    if tray[Tray.RESTING] > 0.0 and tray[Tray.DIMENSION] == 1.0 and contact > 0.0:
        food[FoodState.CONTACT] = tray[Tray.CONTACT] / (tray[Tray.CONTACT] / contact + food[FoodState.THROUGH])
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
        sublimation = max(contact + above - food[FoodState.SINK], 0.0) / food[FoodState.LATENT]
        food[FoodState.CONTACT_HEAT], food[FoodState.ABOVE_HEAT] = contact, above
        food[FoodState.SUBLIMATION] = sublimation
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
