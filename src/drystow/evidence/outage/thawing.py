"""What warms up in a dryer without power, compiled: shelves, trap, food that is still frozen and food that is dry.

The wet core of a tray item is one lump of even temperature; its ice follows the food's enthalpy curve.
"""

from enum import IntEnum
from typing import NamedTuple

import numpy as np

from drystow.constants import ATMOSPHERE, FUSION_HEAT, ZERO_CELSIUS
from drystow.errors import InputError
from drystow.machine.balance import dried_heat
from drystow.machine.dried_layer import (
    heat_paths,
    ice_pressure,
    liquid_pressure,
    path,
    slope_of_resistance,
    surface_temperature,
)
from drystow.machine.layout import FOOD_STATES, FoodState, Tray
from drystow.messages import msg
from drystow.numerics import Array
from drystow.numerics.compiled import compiled, spliced

ICE_HEAT_CAPACITY = 2050.0
"""Heat capacity of ice near -10 °C [J/(kg K)]. Source: walstra."""

WATER_HEAT_CAPACITY = 4200.0
"""Heat capacity of water [J/(kg K)]. Source: walstra."""

SUBLIMATION_HEAT, VAPORISATION_HEAT = 2.838e6, 2.50e6
"""Heat of ice and of water near 0 °C turning to vapour [J/kg]. Source: drying-notes."""

AIR_HINDERS = 200.0
"""Pressure of air that halves the flow of vapour through the chamber [Pa]. Source: drystow-default."""

GAS_GAP = 1.2
"""Heat through the gas between shelves and trap wall, 2 cm apart [W/(m2 K)]. Source: drystow-default."""

THAWED_CONDUCTIVITY = 0.5
"""Of thawed food, to tell how much warmer its edge is than its middle [W/(m K)]. Source: choi-okos."""

TRAP_BARE = 0.02  # ice on the trap that no longer covers half of it [kg]
COLDEST, WARMEST = 180.0, 370.0  # for the formulas, while the solver tries its steps [K]
CORE_GONE = 2e-3  # share of the fresh mass below which no core is left


class WarmState(IntEnum):
    """Entries of the state that belong to the machine; those of the tray items follow."""

    SHELF = 0  # [K]
    TRAP_HEAT = 1  # above ice at 0 °C [J]
    TRAP_ICE = 2  # and water on the trap [kg]
    AIR = 3  # pressure [Pa]


class WarmItem(IntEnum):
    """Entries of the state that belong to a tray item, counted from its first."""

    ENTHALPY = 0  # of its wet core [J/kg]
    CORE = 1  # mass of that core [kg]
    TEMPERATURE = 2  # of the food where no core is left [K]


class ColdFood(IntEnum):
    """What follows from the state for a tray item."""

    CORE = 0  # temperature [K]
    DRIED = 1  # temperature of the dried part [K]
    EDGE = 2  # temperature of the core's warm edge [K]
    HEAT = 3  # that it takes [W]
    VAPOUR = 4  # conductance out of its core, 0 where there is none or the chamber stands open [kg/(s Pa)]


MACHINE, PER_ITEM, COLD_FOOD = len(WarmState), len(WarmItem), len(ColdFood)


class Around(IntEnum):
    """Entries of the array that describes the dryer without power."""

    ROOM = 0  # [K]
    SHELF_CAPACITY = 1  # [J/K]
    SHELF_TO_ROOM = 2  # [W/K]
    SHELF_TO_TRAP = 3  # through struts and radiation [W/K]
    GAP_AREA = 4  # between shelves and trap wall [m2]
    TRAP_CAPACITY = 5  # metal [J/K]
    TRAP_TO_ROOM = 6  # [W/K]
    VAPOUR_CONDUCTANCE = 7  # chamber to trap, 0 when the chamber stands open [kg/(s Pa)]
    AIR_RISE = 8  # [Pa/s]
    OPENED = 9  # 1: the chamber stands open
    AIR_TRANSFER = 10  # to food and shelves from the room's air when it stands open [W/(m2 K)]


@compiled
def trap_temperature(heat: float, mass: float, metal: float) -> float:
    """Return the temperature of the trap with its ice or water [K]."""
    if heat < 0.0:
        return ZERO_CELSIUS + heat / (metal + mass * ICE_HEAT_CAPACITY)
    melted = heat - mass * FUSION_HEAT
    if melted <= 0.0:
        return ZERO_CELSIUS
    return ZERO_CELSIUS + melted / (metal + mass * WATER_HEAT_CAPACITY)


@compiled
def trap_heat(temperature: float, mass: float, metal: float) -> float:
    """Return the heat of a trap with its ice above ice at 0 °C [J]; no warmer than that."""
    return min(temperature - ZERO_CELSIUS, 0.0) * (metal + mass * ICE_HEAT_CAPACITY)


@compiled
def looked_up(x: float, xs: Array, ys: Array) -> float:
    """Return linear interpolation in a rising table, straight on beyond its ends."""
    i = min(max(int(np.searchsorted(xs, x)) - 1, 0), xs.size - 2)
    return float(ys[i] + (x - xs[i]) * (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]))


@compiled
def water_pressure(temperature: float) -> float:
    """Return the vapour pressure over ice or, above 0 °C, over water [Pa]."""
    return float(ice_pressure(temperature) if temperature < 273.16 else liquid_pressure(temperature))


@compiled
def warm(
    state: Array, around: Array, rows: Array, masses: Array, temperatures: Array, enthalpies: Array, food_states: Array
) -> Array:
    """Return the rates of change of the state, and fill the state of each item's food.

    rows: tray rows of the machine's balance (items, columns)
    masses: fresh mass of each item [kg]
    temperatures, enthalpies: the food's enthalpy table (items, entries) [K], [J/kg]
    food_states: (items, `ColdFood`)
    """
    rates = np.zeros(state.size)
    opened = around[Around.OPENED] > 0.0
    shelf, air, trap_ice = state[WarmState.SHELF], state[WarmState.AIR], state[WarmState.TRAP_ICE]
    held = trap_temperature(state[WarmState.TRAP_HEAT], trap_ice, around[Around.TRAP_CAPACITY])
    trap = min(max(held, COLDEST), WARMEST)
    through, pressed = cores(state, around, rows, masses, temperatures, enthalpies, food_states)
    vapour = 0.0
    if not opened:  # vapour goes from the warmer ice to the colder one
        saturation = water_pressure(trap)
        into = around[Around.VAPOUR_CONDUCTANCE] / (1.0 + air / AIR_HINDERS)
        if saturation * through > pressed:  # the trap gives vapour, as long as there is water on it
            into *= max(trap_ice, 0.0) / (max(trap_ice, 0.0) + TRAP_BARE)
        total = through + into
        vapour = (pressed + into * saturation) / total if total > 0.0 else saturation
    pressure = ATMOSPHERE if opened else air + vapour
    inside = Inside(shelf, around[Around.ROOM] if opened else shelf, pressure, vapour, opened)
    now = np.empty(FOOD_STATES)
    from_shelf, to_trap, latent = 0.0, 0.0, 0.0
    for j in range(rows.shape[0]):
        heat, flow, taken = food_rates(j, state, inside, rows, masses, food_states, now, rates)
        from_shelf += heat
        to_trap += flow
        latent += taken
    gap = GAS_GAP * around[Around.GAP_AREA] * pressure / (pressure + 10.0)
    across = (around[Around.SHELF_TO_TRAP] + gap) * (shelf - trap)
    capacity = ICE_HEAT_CAPACITY if state[WarmState.TRAP_HEAT] <= 0.0 else WATER_HEAT_CAPACITY
    room = around[Around.ROOM]
    from_room = around[Around.SHELF_TO_ROOM] * (room - shelf)
    rates[WarmState.SHELF] = (from_room - from_shelf - across) / around[Around.SHELF_CAPACITY]
    rates[WarmState.TRAP_HEAT] = around[Around.TRAP_TO_ROOM] * (room - trap) + across + latent
    rates[WarmState.TRAP_HEAT] += to_trap * capacity * (trap - ZERO_CELSIUS)
    rates[WarmState.TRAP_ICE] = to_trap
    rates[WarmState.AIR] = around[Around.AIR_RISE] * (1.0 - air / ATMOSPHERE)
    return rates


@spliced
def cores(
    state: Array,
    around: Array,
    rows: Array,
    masses: Array,
    temperatures: Array,
    enthalpies: Array,
    food_states: Array,
) -> tuple[float, float]:
    """Fill the temperatures of the cores and the ways of vapour out of them; return their sums."""
    through, pressed = 0.0, 0.0
    for j in range(rows.shape[0]):
        row, base = rows[j], MACHINE + PER_ITEM * j
        left = state[base + WarmItem.CORE] / masses[j]
        if left > CORE_GONE:
            core = looked_up(state[base + WarmItem.ENTHALPY], enthalpies[j], temperatures[j])
        else:
            core = state[base + WarmItem.TEMPERATURE]
        food_states[j, ColdFood.CORE] = min(max(core, COLDEST), WARMEST)
        food_states[j, ColdFood.VAPOUR] = 0.0
        if left > CORE_GONE and around[Around.OPENED] <= 0.0:
            depth, air = path(row[Tray.DIMENSION], row[Tray.LENGTH], min(left, 1.0)), state[WarmState.AIR]
            slope = slope_of_resistance(row, air, air)
            resistance = row[Tray.R0] + slope * depth / (1.0 + row[Tray.A2] * depth)
            conductance = row[Tray.OUTER] / resistance
            food_states[j, ColdFood.VAPOUR] = conductance
            through += conductance
            pressed += conductance * water_pressure(food_states[j, ColdFood.CORE])
    return through, pressed


class Inside(NamedTuple):
    """What is around the food in the chamber.

    shelf: below it [K]
    upper: above it: the shelf above, or the room when the chamber stands open [K]
    pressure: of air and vapour [Pa]
    vapour: its pressure [Pa]
    opened: whether the chamber stands open
    """

    shelf: float
    upper: float
    pressure: float
    vapour: float
    opened: bool


@spliced
def food_rates(
    j: int, state: Array, inside: Inside, rows: Array, masses: Array, food_states: Array, now: Array, rates: Array
) -> tuple[float, float, float]:
    """Fill an item's rates and what follows for its food; return heat from the shelves, vapour and the heat it takes.

    now: scratch, a row of `FoodState`
    """
    shelf, upper, pressure, vapour, opened = inside
    base, row = MACHINE + PER_ITEM * j, rows[j]
    left = state[base + WarmItem.CORE] / masses[j]
    if left <= CORE_GONE:
        temperature = state[base + WarmItem.TEMPERATURE]
        dried_heat(row, temperature, shelf, upper, pressure, now)
        contact, above = now[FoodState.CONTACT_HEAT], now[FoodState.ABOVE_HEAT]
        rates[base + WarmItem.TEMPERATURE] = (contact + above) / (row[Tray.SOLIDS] * row[Tray.HEAT_CAPACITY])
        food_states[j, ColdFood.CORE] = food_states[j, ColdFood.DRIED] = food_states[j, ColdFood.EDGE] = temperature
        food_states[j, ColdFood.HEAT] = contact + above
        return contact if opened else contact + above, 0.0, 0.0
    core, left = food_states[j, ColdFood.CORE], min(left, 1.0)
    heat_paths(row, left, path(row[Tray.DIMENSION], row[Tray.LENGTH], left), pressure, now)
    contact, above = now[FoodState.CONTACT] * (shelf - core), now[FoodState.ABOVE] * (upper - core)
    flow = food_states[j, ColdFood.VAPOUR] * (water_pressure(core) - vapour)
    if flow > 0.0:  # a core that is nearly gone gives ever less, so that no step takes more than is there
        flow *= min(1.0, left / CORE_GONE - 1.0)
    heat = SUBLIMATION_HEAT if core < row[Tray.THAW] else VAPORISATION_HEAT
    rates[base + WarmItem.ENTHALPY] = (contact + above - flow * heat) / state[base + WarmItem.CORE]
    rates[base + WarmItem.CORE] = -flow * masses[j] / max(row[Tray.ICE], 1e-9)
    rates[base + WarmItem.TEMPERATURE] = 0.0
    food_states[j, ColdFood.DRIED] = 0.5 * (core + surface_temperature(row, core, shelf, upper, now))
    thick = row[Tray.LENGTH] * left ** (1.0 / row[Tray.DIMENSION])
    warmer = max(contact, 0.0) / row[Tray.CONTACT] * 0.5 * thick / THAWED_CONDUCTIVITY
    food_states[j, ColdFood.EDGE] = core + warmer
    food_states[j, ColdFood.HEAT] = contact + above
    return contact if opened else contact + above, flow, flow * heat


def course(
    start: Array,
    times: Array,
    around: Array,
    rows: Array,
    masses: Array,
    tables: tuple[Array, Array],
) -> tuple[Array, Array]:
    """Return the state (moments, states) and that of the foods (moments, items, `ColdFood`) over an outage.

    start: state when the power goes
    times: moments since then, the first 0 [s]
    around: the dryer without power, in the order of `Around`
    rows: tray rows of the machine's balance
    masses: fresh mass of each item [kg]
    tables: temperatures [K] and enthalpies [J/kg] of the foods, a row for each item
    """
    from scipy.integrate import odeint

    count = len(rows)
    food_states = np.zeros((count, COLD_FOOD))

    def rates(state: Array, _time: float) -> Array:
        return warm(state, around, rows, masses, tables[0], tables[1], food_states)

    error = np.array([1e-4, 10.0, 1e-7, 1e-3] + [1.0, 1e-8, 1e-4] * count)
    if times[-1] > 0.0:
        found, info = odeint(rates, start, times, rtol=1e-7, atol=error, mxstep=20_000, full_output=True)
        states: Array = found
        reached = float(info["tcur"][-1]) >= float(times[-1])
        if not reached or not np.isfinite(states).all():
            raise InputError(
                "dryer", msg("a power outage can't be calculated with these numbers; check those of the dryer")
            )
    else:
        states = np.repeat(start[None], len(times), axis=0)
    foods = np.empty((len(states), count, COLD_FOOD))
    for number, state in enumerate(states):
        warm(state, around, rows, masses, tables[0], tables[1], foods[number])
    return states, foods
