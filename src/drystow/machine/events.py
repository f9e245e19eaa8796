"""What happens during a run, compiled: moisture, crossings, the end of the ice, peaks, records."""

import numpy as np

from drystow.machine.balance import ice_left
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY, Machine, Tray
from drystow.numerics import Array
from drystow.numerics.compiled import compiled

RECORD = 8  # machine columns of a record, before three per tray
# places in the marks: first time [s], and for the heater total time [s]
MARK_CHOKED, MARK_FULL, MARK_FULL_TIME, MARK_HELD_BACK, MARK_HELD_BACK_TIME = 0, 1, 2, 3, 4
MARK_PEAK_FLOW, MARK_PEAK_PRESSURE, MARKS = 5, 6, 7


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
    left = ice_left(tray[Tray.SHAPE], state[base])
    frozen = left * (tray[Tray.ICE] + tray[Tray.BOUND] * tray[Tray.SOLIDS])
    return (frozen + state[base + 1]) / tray[Tray.SOLIDS]


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
    after[1] = before[1]
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        after[1] += (moisture(before, trays[j], base) - moisture(after, trays[j], base)) * trays[j, Tray.SOLIDS]


@compiled
def finish_ice(state: Array, tray: Array, base: int, temperature: float) -> None:
    """Close the last trace of ice: its water goes to the trap, its bound water joins the dried part."""
    left = ice_left(tray[Tray.SHAPE], state[base])
    state[1] += left * tray[Tray.ICE]
    state[base] = 0.0
    state[base + 1] += left * tray[Tray.BOUND] * tray[Tray.SOLIDS]
    state[base + 2] = temperature


@compiled
def look(
    state: Array, setpoint: float, machine: Array, rates: Array, seen: Array, marks: Array, now: float, step: float
) -> None:
    """Note peaks, choking and a heater at its limit."""
    heat = 0.0
    for j in range(rates.shape[0]):
        heat += rates[j, 2] + rates[j, 3]
    if seen[4] > 0.0 and np.isnan(marks[MARK_CHOKED]):
        marks[MARK_CHOKED] = now
    if heater_demand(state[0], setpoint, heat, machine, seen[3]) > heater_allowed(seen[0], machine):
        which = (
            MARK_FULL
            if seen[0] <= machine[Machine.PRESSURE_LIMIT] or machine[Machine.PRESSURE_LIMIT] <= 0.0
            else MARK_HELD_BACK
        )
        if np.isnan(marks[which]):
            marks[which] = now
        marks[which + 1] += step
    marks[MARK_PEAK_FLOW] = max(marks[MARK_PEAK_FLOW], seen[1])
    marks[MARK_PEAK_PRESSURE] = max(marks[MARK_PEAK_PRESSURE], seen[0])


@compiled
def keep(row: Array, now: float, state: Array, seen: Array, rates: Array, fronts: Array, trays: Array) -> None:
    """Write one record: machine columns, then dried fraction, front and moisture of each tray."""
    row[0], row[1], row[2], row[3], row[4] = now, state[0], seen[0], seen[2], seen[1]
    row[5], row[6], row[7] = state[1], state[4], state[5]
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        at = RECORD + 3 * j
        row[at] = 1.0 - ice_left(trays[j, Tray.SHAPE], state[base])
        row[at + 1] = fronts[j]
        row[at + 2] = moisture(state, trays[j], base)
