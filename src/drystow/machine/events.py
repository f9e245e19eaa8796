"""What happens during a run, compiled: moisture, crossings, the end of the ice, peaks, records."""

import math

import numpy as np

from drystow.machine.dried_layer import ice_left
from drystow.machine.layout import (
    CELLS,
    MACHINE_RECORD,
    MACHINE_STATES,
    RECORD_PER_TRAY,
    STATES_PER_TRAY,
    ChamberState,
    EventTime,
    FoodState,
    ItemRecord,
    ItemState,
    Log,
    Machine,
    MachineRecord,
    State,
    Tray,
    TrayTime,
)
from drystow.numerics import Array
from drystow.numerics.compiled import compiled

TRAY_TIMES, EVENT_TIMES = len(TrayTime), len(EventTime)
U_END = 1e-6
"""Measure of ice below which the rest is finished in one straight line: the way of vapour out of a stick or a sphere
grows beyond any number as its core vanishes, and no step would ever get there."""


@compiled
def new_log(count: int, records: int) -> Log:
    """Return a log for some tray items in which nothing has happened, with room for records."""
    tray_times = np.full((count, TRAY_TIMES), np.nan)
    event_times = np.zeros(EVENT_TIMES)
    series = np.empty((records, MACHINE_RECORD + RECORD_PER_TRAY * count))
    log = Log(tray_times, event_times, series)
    forget(log)
    return log


@compiled
def forget(log: Log) -> None:
    """Take out what happened in the run before, so that the next one writes into the same log."""
    log.tray_times[:] = np.nan
    log.event_times[:] = 0.0
    log.event_times[EventTime.CHOKED] = np.nan
    log.event_times[EventTime.HEATER_FULL] = np.nan
    log.event_times[EventTime.HELD_BACK] = np.nan


@compiled
def heater_demand(shelf: float, setpoint: float, heat: float, machine: Array, trap: float) -> float:
    """Return the power that would bring the shelf to its set-point at the controller's pace [W]."""
    lost = heat + machine[Machine.WALL_CONDUCTANCE] * (shelf - trap)
    return machine[Machine.SHELF_CAPACITY] * (setpoint - shelf) / machine[Machine.CONTROL_TIME] + lost


@compiled
def heater_allowed(pressure: float, machine: Array) -> float:
    """Return the power that the heaters may give at a chamber pressure: all below the limit, none a fifth above [W]."""
    limit = machine[Machine.PRESSURE_LIMIT]
    if limit <= 0.0:
        return machine[Machine.HEATER_POWER]
    return machine[Machine.HEATER_POWER] * min(max((1.2 * limit - pressure) / (0.2 * limit), 0.0), 1.0)


@compiled
def moisture(state: Array, tray: Array, base: int) -> float:
    """Return all water that is left in a tray item, dry basis [-]."""
    left = ice_left(tray[Tray.DIMENSION], state[base + ItemState.FRACTION])
    return left * tray[Tray.ICE] / tray[Tray.SOLIDS] + mean_water(state, base)


@compiled
def mean_water(values: Array, base: int) -> float:
    """Return the mean of a tray item's cells: their water that is not ice, or its rate of change."""
    total = 0.0
    for cell in range(CELLS):
        total += values[base + ItemState.WATER + cell]
    return total / CELLS


@compiled
def crossing(before: float, after: float, slope_before: float, slope_after: float, step: float, level: float) -> float:
    """Return the fraction of a step at which a cubic through both ends falls to `level`."""
    low, high = 0.0, 1.0
    for _ in range(50):
        x = 0.5 * (low + high)
        y = (
            before * (1 + 2 * x) * (1 - x) ** 2
            + slope_before * step * x * (1 - x) ** 2
            + after * x * x * (3 - 2 * x)
            + slope_after * step * x * x * (x - 1)
        )
        if y > level:
            low = x
        else:
            high = x
    return 0.5 * (low + high)


@compiled
def part_way(before: Array, after: Array, first: Array, last: Array, step: float, share: float) -> None:
    """Replace the end of a step by the state at a share of it, on the cubic through both ends."""
    for i in range(before.size):
        after[i] = (
            before[i] * (1 + 2 * share) * (1 - share) ** 2
            + first[i] * step * share * (1 - share) ** 2
            + after[i] * share * share * (3 - 2 * share)
            + last[i] * step * share * share * (share - 1)
        )


@compiled
def trap_closes(before: Array, after: Array, trays: Array) -> None:
    """Set the trap's ice at the end of a step to what it had and what the food lost, exactly."""
    after[State.TRAP_ICE] = before[State.TRAP_ICE]
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        lost = moisture(before, trays[j], base) - moisture(after, trays[j], base)
        after[State.TRAP_ICE] += lost * trays[j, Tray.SOLIDS]


@compiled
def finish_ice(state: Array, tray: Array, base: int, temperature: float) -> None:
    """Close the last trace of ice: it goes to the trap."""
    left = ice_left(tray[Tray.DIMENSION], state[base + ItemState.FRACTION])
    state[State.TRAP_ICE] += left * tray[Tray.ICE]
    state[base + ItemState.FRACTION] = 0.0
    state[base + ItemState.TEMPERATURE] = temperature


@compiled
def note_start(foods: Array, log: Log) -> None:
    """Note the fronts at the start of drying."""
    for j in range(foods.shape[0]):
        front = foods[j, FoodState.FRONT]
        for column in (TrayTime.FRONT_START, TrayTime.FRONT_MAX, TrayTime.FRONT_END):
            log.tray_times[j, column] = front


@compiled
def note_dry(
    state: Array, trial: Array, first: Array, last: Array, trays: Array, now: float, step: float, log: Log
) -> tuple[bool, float]:
    """Note which trays get dry within a step, and return whether all are and at what share of it the last one is.

    first, last: slopes at both ends of the step; the moment lies on the cubic through them
    """
    latest, all_dry = 0.0, True
    for j in range(trays.shape[0]):
        if not math.isnan(log.tray_times[j, TrayTime.DRY]):
            continue
        tray, base = trays[j], MACHINE_STATES + j * STATES_PER_TRAY
        level, after = tray[Tray.TARGET], moisture(trial, tray, base)
        if trial[base + ItemState.FRACTION] != 0.0 or after > level:
            all_dry = False
            continue
        before, share = moisture(state, tray, base), 0.0
        if before > level:
            share = crossing(before, after, mean_water(first, base), mean_water(last, base), step, level)
        # The mean may reach the target while the last crumb of ice is still there: dry is after both.
        log.tray_times[j, TrayTime.DRY] = max(now + share * step, log.tray_times[j, TrayTime.ICE_GONE])
        latest = max(latest, share)
    return all_dry, latest


@compiled
def note_fronts(state: Array, slope: Array, trays: Array, foods: Array, now: float, log: Log) -> bool:
    """Note what the ice fronts did in a step, close the last trace of ice, and return whether any ice ended."""
    times, ended = log.tray_times, False
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        fraction = base + ItemState.FRACTION
        if state[fraction] <= 0.0:
            continue
        front = foods[j, FoodState.FRONT]
        times[j, TrayTime.FRONT_END] = front
        times[j, TrayTime.FRONT_MAX] = max(times[j, TrayTime.FRONT_MAX], front)
        if math.isnan(times[j, TrayTime.LIMIT_PASSED]) and front > trays[j, Tray.LIMIT]:
            times[j, TrayTime.LIMIT_PASSED] = now
        if math.isnan(times[j, TrayTime.THAWED]) and front > trays[j, Tray.THAW]:
            times[j, TrayTime.THAWED] = now
        if state[fraction] < U_END:
            finish_ice(state, trays[j], base, foods[j, FoodState.MEAN_TEMPERATURE])
            rest = U_END / max(-slope[fraction], 1e-12) if slope[fraction] < 0.0 else 0.0
            times[j, TrayTime.ICE_GONE] = now + rest
            ended = True
    return ended


@compiled
def note_machine(
    state: Array, setpoint: float, machine: Array, foods: Array, chamber: Array, now: float, step: float, log: Log
) -> None:
    """Note peaks, choking and a heater at its limit."""
    noted = log.event_times
    heat = 0.0
    for j in range(foods.shape[0]):
        heat += foods[j, FoodState.CONTACT_HEAT] + foods[j, FoodState.ABOVE_HEAT]
    pressure, evaporator = chamber[ChamberState.PRESSURE], chamber[ChamberState.EVAPORATOR]
    if chamber[ChamberState.CHOKED] > 0.0 and math.isnan(noted[EventTime.CHOKED]):
        noted[EventTime.CHOKED] = now
    demand = heater_demand(state[State.SHELF], setpoint, heat, machine, evaporator)
    if demand > heater_allowed(pressure, machine):
        limit = machine[Machine.PRESSURE_LIMIT]
        first, lasted = EventTime.HELD_BACK, EventTime.HELD_BACK_LASTED
        if pressure <= limit or limit <= 0.0:
            first, lasted = EventTime.HEATER_FULL, EventTime.HEATER_FULL_LASTED
        if math.isnan(noted[first]):
            noted[first] = now
        noted[lasted] += step
    noted[EventTime.PEAK_FLOW] = max(noted[EventTime.PEAK_FLOW], chamber[ChamberState.FLOW])
    noted[EventTime.PEAK_PRESSURE] = max(noted[EventTime.PEAK_PRESSURE], pressure)


@compiled
def keep(row: Array, now: float, state: Array, trays: Array, foods: Array, chamber: Array) -> None:
    """Write one record: machine columns, then those of each tray."""
    row[MachineRecord.TIME] = now
    row[MachineRecord.SHELF] = state[State.SHELF]
    row[MachineRecord.PRESSURE] = chamber[ChamberState.PRESSURE]
    row[MachineRecord.TRAP_SURFACE] = chamber[ChamberState.TRAP_SURFACE]
    row[MachineRecord.FLOW] = chamber[ChamberState.FLOW]
    row[MachineRecord.TRAP_ICE] = state[State.TRAP_ICE]
    row[MachineRecord.HEATER_ENERGY] = state[State.HEATER_ENERGY]
    row[MachineRecord.COMPRESSOR_ENERGY] = state[State.COMPRESSOR_ENERGY]
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        at = MACHINE_RECORD + RECORD_PER_TRAY * j
        row[at + ItemRecord.DRIED] = 1.0 - ice_left(trays[j, Tray.DIMENSION], state[base + ItemState.FRACTION])
        row[at + ItemRecord.TEMPERATURE] = foods[j, FoodState.FRONT]
        row[at + ItemRecord.MOISTURE] = moisture(state, trays[j], base)
        for cell in range(CELLS):
            row[at + ItemRecord.WATER + cell] = state[base + ItemState.WATER + cell]
