"""What warms up in a dryer without power, compiled: shelves, trap, food that is still frozen and food that is dry.

State: shelf temperature [K], heat of the trap above ice at 0 °C [J], ice and water on it [kg], pressure of air [Pa],
then for each tray item the enthalpy of its wet core [J/kg], the mass of that core [kg] and the temperature of the food
where no core is left [K]. The wet core is one lump of even temperature; its ice follows the food's enthalpy curve.
"""

from enum import IntEnum

import numpy as np

from drystow.constants import ATMOSPHERE, FUSION_HEAT, ZERO_CELSIUS
from drystow.errors import InputError
from drystow.machine.balance import dried_heat, heat_paths, ice_pressure, liquid_pressure, path
from drystow.machine.layout import Tray
from drystow.messages import msg
from drystow.numerics import Array
from drystow.numerics.compiled import compiled

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

MACHINE, PER_ITEM, SEEN = 4, 3, 4  # states of the machine, states and things seen of each item


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
    state: Array, around: Array, rows: Array, masses: Array, temperatures: Array, enthalpies: Array, seen: Array
) -> Array:
    """Return the rates of change of the state, and fill what is seen of each item.

    rows: tray rows of the machine's balance (items, columns)
    masses: fresh mass of each item [kg]
    temperatures, enthalpies: the food's enthalpy table (items, entries) [K], [J/kg]
    seen: per item temperature of the core, of the dried part and of the core's warm edge [K]; heat it takes [W]
    """
    rates = np.zeros(state.size)
    count = rows.shape[0]
    opened = around[Around.OPENED] > 0.0
    room, shelf = around[Around.ROOM], state[0]
    trap = min(max(trap_temperature(state[1], state[2], around[Around.TRAP_CAPACITY]), COLDEST), WARMEST)
    upper = room if opened else shelf
    conductances, flows = np.zeros(count), np.zeros(count)
    through, pressed = 0.0, 0.0
    for j in range(count):
        base = MACHINE + PER_ITEM * j
        left = state[base + 1] / masses[j]
        core = looked_up(state[base], enthalpies[j], temperatures[j]) if left > CORE_GONE else state[base + 2]
        seen[j, 0] = min(max(core, COLDEST), WARMEST)
        if left > CORE_GONE and not opened:
            row = rows[j]
            depth = path(row[Tray.SHAPE], row[Tray.LENGTH], measure(row[Tray.SHAPE], left))
            resistance = row[Tray.R0] + row[Tray.A1] * depth / (1.0 + row[Tray.A2] * depth)
            conductances[j] = row[Tray.OUTER] / resistance
            through += conductances[j]
            pressed += conductances[j] * water_pressure(seen[j, 0])
    vapour = 0.0
    if not opened:  # vapour goes from the warmer ice to the colder one
        saturation = water_pressure(trap)
        into = around[Around.VAPOUR_CONDUCTANCE] / (1.0 + state[3] / AIR_HINDERS)
        if saturation * through > pressed:  # the trap gives vapour, as long as there is water on it
            into *= max(state[2], 0.0) / (max(state[2], 0.0) + TRAP_BARE)
        total = through + into
        vapour = (pressed + into * saturation) / total if total > 0.0 else saturation
    pressure = ATMOSPHERE if opened else state[3] + vapour
    paths, dried = np.empty(10), np.empty(5)
    from_shelf, to_trap, latent = 0.0, 0.0, 0.0
    for j in range(count):
        row, base = rows[j], MACHINE + PER_ITEM * j
        left = state[base + 1] / masses[j]
        if left <= CORE_GONE:
            dried_heat(row, state[base + 2], shelf, upper, pressure, dried, paths)
            capacity = row[Tray.SOLIDS] * row[Tray.HEAT_CAPACITY]
            rates[base + 2] = (dried[2] + dried[3]) / capacity
            from_shelf += dried[2] if opened else dried[2] + dried[3]
            seen[j, 0] = seen[j, 1] = seen[j, 2] = state[base + 2]
            seen[j, 3] = dried[2] + dried[3]
            continue
        core, u = seen[j, 0], measure(row[Tray.SHAPE], left)
        heat_paths(row, u, path(row[Tray.SHAPE], row[Tray.LENGTH], u), pressure, paths)
        contact, above = paths[0] * (shelf - core), paths[2] * (upper - core)
        flows[j] = conductances[j] * (water_pressure(core) - vapour)
        if flows[j] > 0.0:
            flows[j] *= min(1.0, left / CORE_GONE - 1.0)
        heat = SUBLIMATION_HEAT if core < row[Tray.THAW] else VAPORISATION_HEAT
        rates[base] = (contact + above - flows[j] * heat) / state[base + 1]
        rates[base + 1] = -flows[j] * masses[j] / max(row[Tray.ICE], 1e-9)
        rates[base + 2] = 0.0
        to_trap += flows[j]
        latent += flows[j] * heat
        from_shelf += contact if opened else contact + above
        seen[j, 1] = 0.5 * (core + upper - (upper - core) * paths[4])
        seen[j, 2] = core + max(contact, 0.0) / row[Tray.CONTACT] * 0.5 * row[Tray.LENGTH] * u / THAWED_CONDUCTIVITY
        seen[j, 3] = contact + above
    gap = GAS_GAP * around[Around.GAP_AREA] * pressure / (pressure + 10.0)
    across = (around[Around.SHELF_TO_TRAP] + gap) * (shelf - trap)
    capacity = ICE_HEAT_CAPACITY if state[1] <= 0.0 else WATER_HEAT_CAPACITY
    rates[0] = (around[Around.SHELF_TO_ROOM] * (room - shelf) - from_shelf - across) / around[Around.SHELF_CAPACITY]
    rates[1] = around[Around.TRAP_TO_ROOM] * (room - trap) + across + latent
    rates[1] += to_trap * capacity * (trap - ZERO_CELSIUS)
    rates[2] = to_trap
    rates[3] = around[Around.AIR_RISE] * (1.0 - state[3] / ATMOSPHERE)
    return rates


@compiled
def measure(shape: float, left: float) -> float:
    """Return the measure u of the machine's balance for the share of the food that still holds ice [-]."""
    share = min(max(left, 1e-6), 1.0)
    return share ** (2.0 / 3.0) if shape == 3.0 else share


def course(
    start: Array,
    times: Array,
    around: Array,
    rows: Array,
    masses: Array,
    tables: tuple[Array, Array],
) -> tuple[Array, Array]:
    """Return the state (moments, states) and what is seen of the items (moments, items, four) over an outage.

    start: state when the power goes
    times: moments since then, the first 0 [s]
    around: the dryer without power, in the order of `Around`
    rows: tray rows of the machine's balance
    masses: fresh mass of each item [kg]
    tables: temperatures [K] and enthalpies [J/kg] of the foods, a row for each item
    """
    from scipy.integrate import odeint

    count = len(rows)
    seen = np.zeros((count, SEEN))

    def rates(state: Array, _time: float) -> Array:
        return warm(state, around, rows, masses, tables[0], tables[1], seen)

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
    looks = np.empty((len(states), count, SEEN))
    for number, state in enumerate(states):
        warm(state, around, rows, masses, tables[0], tables[1], looks[number])
    return states, looks
