"""A power cut while food is drying: how warm it gets, how much ice is left, what to do with each tray."""

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, check_range
from drystow.evidence.band import PERCENTILES, band
from drystow.evidence.outage.advice import (
    CAUTIONS,
    COLD,
    DRY_ENOUGH,
    Outage,
    OutageResult,
    TrayFate,
    TrayOutage,
    advise,
    notes_on,
)
from drystow.evidence.outage.resumed import resumed
from drystow.evidence.outage.thawing import (
    CORE_GONE,
    ICE_HEAT_CAPACITY,
    MACHINE,
    PER_ITEM,
    Around,
    ColdFood,
    WarmItem,
    WarmState,
    course,
    trap_heat,
)
from drystow.machine.ensemble import Members, simulate_members
from drystow.machine.layout import Tray
from drystow.machine.load import Load
from drystow.machine.profile import Dryer
from drystow.machine.sampling import UNCALIBRATED, Calibration, load_samples, standard_samples
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.ice import ice_fraction
from drystow.properties.sorption import water_activity_at
from drystow.properties.thermal import enthalpy_table

MEMBERS = 40  # ways that the outage may have gone
DOUBT = 0.05  # share of the members that may be moist where food counts as dry
MOMENTS = 121  # of an outage that are followed
LONGEST = 14 * 86400.0  # outage that is worked out [s]

DOOR_SHARE = 0.25
"""Heat that the shelves get straight from the room, over what the trap gets [-]. Source: drystow-default."""

TRAP_METAL = 8000.0
"""Heat capacity of the trap's metal for its area [J/(K m2)]. Source: drystow-default."""

AIR_TRANSFER = 10.0
"""From the air of a room to cold food and shelves, with dew settling on them [W/(m2 K)]. Source: drystow-default."""

LEAK_SPREAD, AIR_RISE_SPREAD, METAL_SPREAD, AIR_TRANSFER_SPREAD = 0.4, 1.0, 0.4, 0.35
"""Relative spreads of heat leak, rise of air (a pump may let it back), trap metal, air [-]. Source: drystow-default."""


def survive(
    load: Load, outage: Outage, *, members: int = MEMBERS, seed: int = 1, known: Calibration = UNCALIBRATED
) -> OutageResult:
    """Return what a power cut did to every tray, with how sure that is.

    load: food, dryer and program; not one whose pressure is held
    outage: when, how long, opened or not, how warm the room
    members: ways that the run and the outage may have gone
    seed: the same seed gives the same result
    known: what earlier batches taught
    """
    check_range("start", outage.start, 0, 30 * 86400.0, "s", msg("count it from when the vacuum came on"))
    check_range("duration", outage.duration, 0, LONGEST, "s")
    check_range("room", outage.room, ZERO_CELSIUS - 20, ZERO_CELSIUS + 50, "temperature")
    if load.rig.pressure is not None:
        raise InputError(
            "dryer", msg("a load at held pressure has no dryer that can warm up; name its starting numbers as profile")
        )
    runs = simulate_members(load, load_samples(load, members, seed, known=known), sample_times=(outage.start,))
    times = np.linspace(0.0, outage.duration, MOMENTS)
    states, foods = _courses(load, outage, runs, times, seed)
    after = resumed(load, outage, runs, states)
    trays = [
        _tray(load, outage, runs, times, states, foods, number, after.delay[:, number])
        for number in range(len(load.items))
    ]
    return OutageResult(
        trays=tuple(trays),
        shelf=band(states[:, -1, WarmState.SHELF]),
        trap=band(_trap(load.rig.dryer, states[:, -1])),
        pressure=band(np.full(members, 101325.0) if outage.opened else states[:, -1, WarmState.AIR]),
        delay=band(after.whole),
        refreezing=band(after.refreezing),
        shift=after.shift,
        notes=notes_on(outage, trays),
        cautions=CAUTIONS,
        sources=("power-outage-chart", "two-hour-rule", "freezer-hours", "food-code", "drystow-default"),
    )


def dryer_without_power(dryer: Dryer, outage: Outage, draws: Array | None = None) -> Array:
    """Return the dryer without power, in the order of `Around`.

    dryer: the machine
    outage: opened or not, and the room
    draws: standard normal numbers for heat leak, rise of air, trap metal and air; the middle when None [-]
    """
    leak, rise, metal, air = np.zeros(4) if draws is None else draws
    heat_leak = dryer.room_conductance * np.exp(LEAK_SPREAD * leak)
    transfer = AIR_TRANSFER * np.exp(AIR_TRANSFER_SPREAD * air)
    around = np.zeros(len(Around))
    around[Around.ROOM] = outage.room
    around[Around.SHELF_CAPACITY] = dryer.shelf_heat_capacity
    around[Around.SHELF_TO_ROOM] = DOOR_SHARE * heat_leak
    around[Around.SHELF_TO_TRAP] = dryer.wall_conductance
    around[Around.GAP_AREA] = dryer.trap_area
    around[Around.TRAP_CAPACITY] = TRAP_METAL * dryer.trap_area * np.exp(METAL_SPREAD * metal)
    around[Around.TRAP_TO_ROOM] = heat_leak
    around[Around.VAPOUR_CONDUCTANCE] = dryer.vapour_conductance
    around[Around.AIR_RISE] = dryer.leak / dryer.chamber_volume * np.exp(AIR_RISE_SPREAD * rise)
    if outage.opened:
        around[Around.OPENED] = 1.0
        around[Around.AIR_TRANSFER] = transfer
        around[Around.SHELF_TO_ROOM] += transfer * dryer.tray_area * dryer.trays
        around[Around.TRAP_TO_ROOM] += transfer * dryer.trap_area
        around[Around.VAPOUR_CONDUCTANCE] = around[Around.AIR_RISE] = 0.0
    return around


def _courses(load: Load, outage: Outage, runs: Members, times: Array, seed: int) -> tuple[Array, Array]:
    """Return states (members, moments, states) and those of the foods (members, moments, items, `ColdFood`)."""
    tables = [enthalpy_table(item.food.composition, item.freezing_point) for item in load.items]
    pair = (np.array([table[0] for table in tables]), np.array([table[1] for table in tables]))
    masses = np.array([item.mass for item in load.items])
    draws = standard_samples(len(runs.draws), 4, seed + 1)
    answers = []
    for member in range(len(runs.draws)):
        around = dryer_without_power(load.rig.dryer, outage, draws[member])
        rows = runs.trays[member].copy()
        if outage.opened:
            rows[:, Tray.H_ABOVE] = around[Around.AIR_TRANSFER]
        start = _start(load, runs, member, pair, around, rows)
        answers.append(course(start, times, around, rows, masses, pair))
    return np.array([states for states, _foods in answers]), np.array([foods for _states, foods in answers])


def _start(load: Load, runs: Members, member: int, tables: tuple[Array, Array], around: Array, rows: Array) -> Array:
    solids, wet = rows[:, Tray.SOLIDS], rows[:, Tray.UNFROZEN] + rows[:, Tray.ICE] / rows[:, Tray.SOLIDS]
    trap_ice = max(float((solids * (wet - runs.moisture[member, 0])).sum()), 0.0)
    state = np.empty(MACHINE + PER_ITEM * len(load.items))
    trap = min(float(runs.trap[member, 0]), ZERO_CELSIUS)
    state[WarmState.SHELF], state[WarmState.TRAP_ICE] = runs.shelf[member, 0], trap_ice
    state[WarmState.AIR] = load.rig.dryer.air_pressure
    state[WarmState.TRAP_HEAT] = trap_heat(trap, trap_ice, float(around[Around.TRAP_CAPACITY]))
    for number, item in enumerate(load.items):
        base = MACHINE + PER_ITEM * number
        temperature = float(runs.temperature[member, 0, number])
        left = 1.0 - float(runs.dried_fraction[member, 0, number])
        cold = min(temperature, item.freezing_point - 0.05)
        dried = temperature if left <= CORE_GONE else 0.5 * (temperature + state[WarmState.SHELF])
        state[base + WarmItem.ENTHALPY] = np.interp(cold, tables[0][number], tables[1][number])
        state[base + WarmItem.CORE] = item.mass * left
        state[base + WarmItem.TEMPERATURE] = dried
    return state


def _tray(
    load: Load, outage: Outage, runs: Members, times: Array, states: Array, foods: Array, number: int, delays: Array
) -> TrayOutage:
    item = load.items[number]
    mass = states[:, :, MACHINE + PER_ITEM * number + WarmItem.CORE]
    core, edge = foods[:, :, number, ColdFood.CORE], foods[:, :, number, ColdFood.EDGE]
    wet = mass > CORE_GONE * item.mass
    full = np.asarray(ice_fraction(item.food.composition, item.freezing_point, core))
    ice = np.where(wet, mass * full, 0.0)
    melted = np.where(wet[:, -1], np.maximum(mass[:, -1] * (full[:, 0] - full[:, -1]), 0.0), 0.0)
    icy = wet[:, 0] & (ice[:, 0] > 0.0)  # the others had no ice that could melt
    before = ice[icy, 0]
    activity = np.asarray(water_activity_at(item.isotherm, np.maximum(runs.moisture[:, 0, number], 1e-6)))
    moist = wet[:, 0] | (activity >= DRY_ENOUGH)
    warm = time_above(times, np.where(moist[:, None], edge, 0.0), COLD)
    fate = TrayFate(
        dry=bool(moist.mean() < DOUBT),
        had_ice=bool(wet[:, 0].mean() > 0.5),
        melted=float(np.percentile(melted[icy] / before, 95.0)) if icy.any() else 0.0,
        icy=float(np.percentile(ice[icy, -1] / before, 5.0)) if icy.any() else 0.0,
        warm=float(np.percentile(warm, 95.0)),
        surely_warm=float(np.percentile(warm, 5.0)),
        room=outage.room,
        soft=bool(np.percentile(np.where(wet, core, 0.0).max(axis=1), 95.0) > item.limit),
    )
    advice, words = advise(item.food, fate)
    return TrayOutage(
        name=item.food.name,
        ice_before=band(ice[:, 0]),
        ice_left=band(ice[:, -1]),
        melted=band(melted),
        core=band(core[:, -1]),
        dried=band(foods[:, -1, number, ColdFood.DRIED]),
        highest=band(edge.max(axis=1)),
        above_cold=band(warm),
        above_freezing=band(time_above(times, np.where(wet, edge, 0.0), item.freezing_point)),
        delay=band(delays),
        advice=advice,
        words=words,
        times=times,
        core_course=np.percentile(core, PERCENTILES, axis=0),
    )


def time_above(times: Array, values: Array, limit: float) -> Array:
    """Return for each row how long values on straight lines between moments lie above a limit [s].

    times: moments [s]
    values: rows of values at the moments [K]
    limit: to be exceeded [K]
    Source: definition.

    >>> print(time_above(np.array([0.0, 10.0]), np.array([[0.0, 4.0]]), 1.0))
    [7.5]
    """
    over = values - limit
    first, last = over[:, :-1], over[:, 1:]
    rise = np.abs(last - first)
    share = np.where(rise > 0.0, np.maximum(first, last) / np.where(rise > 0.0, rise, 1.0), (first > 0.0) * 1.0)
    total: Array = (np.clip(share, 0.0, 1.0) * np.diff(times)).sum(axis=1)
    return total


def _trap(dryer: Dryer, states: Array) -> Array:
    metal = TRAP_METAL * dryer.trap_area
    cold = states[:, WarmState.TRAP_HEAT] / (metal + states[:, WarmState.TRAP_ICE] * ICE_HEAT_CAPACITY)
    return ZERO_CELSIUS + np.minimum(cold, 0.0)
