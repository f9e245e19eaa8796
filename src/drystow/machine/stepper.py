"""Time stepping of the coupled balance, compiled: Dormand-Prince 5(4) with events found inside the step."""

import numpy as np

from drystow.machine.balance import SPHERE, solve_fronts
from drystow.machine.events import (
    crossing,
    finish_ice,
    heater_allowed,
    heater_demand,
    keep,
    look,
    moisture,
    part_way,
    trap_closes,
)
from drystow.machine.layout import MACHINE_STATES, STATES_PER_TRAY, Machine, Tray
from drystow.numerics import Array
from drystow.numerics.compiled import compiled

U_END = 1e-6  # the rest of the ice is finished in one straight line
DESORPTION_HEAT = 2.7e6  # of bound water [J/kg]
LIQUID_HEAT_CAPACITY = 4180.0  # [J/(kg K)]
SHORTEST_LAG = 40.0  # of the dried food behind its heat supply: no crumb is followed by the second [s]
SMALLEST_STEP = 1e-3  # [s]

DONE_DRY, DONE_PROGRAM, DONE_TRAP, DONE_TIME, DONE_STALLED, FAILED = 0, 1, 2, 3, 4, 5

C = np.array([0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0])
A = np.array(
    [
        [0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [1 / 5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [3 / 40, 9 / 40, 0.0, 0.0, 0.0, 0.0],
        [44 / 45, -56 / 15, 32 / 9, 0.0, 0.0, 0.0],
        [19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729, 0.0, 0.0],
        [9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656, 0.0],
        [35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84],
    ]
)
ERROR = np.array([71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40])


@compiled
def slopes(
    state: Array,
    setpoint: float,
    trays: Array,
    machine: Array,
    fronts: Array,
    seen: Array,
    rates: Array,
    work: Array,
    out: Array,
) -> bool:
    """Fill `out` with the rate of change of every state; return False when the balance has no solution."""
    if solve_fronts(state, trays, machine, fronts, seen, rates, work) == 0:
        return False
    heat = 0.0
    sublimed = 0.0
    for j in range(trays.shape[0]):
        tray = trays[j]
        base = MACHINE_STATES + j * STATES_PER_TRAY
        heat += rates[j, 2] + rates[j, 3]
        u = state[base]
        if u > 0.0:
            sublimed += rates[j, 2] + rates[j, 3]
            front_rate = rates[j, 0] / tray[Tray.ICE]
            if tray[Tray.SHAPE] == SPHERE:
                out[base] = -front_rate * 2.0 / (3.0 * np.sqrt(u))
            else:
                out[base] = -front_rate
            out[base + 1] = tray[Tray.BOUND] * tray[Tray.SOLIDS] * front_rate - rates[j, 1]
            out[base + 2] = 0.0
        else:
            capacity = tray[Tray.SOLIDS] * tray[Tray.HEAT_CAPACITY] + state[base + 1] * LIQUID_HEAT_CAPACITY
            capacity = max(capacity, SHORTEST_LAG * (work[j, 0] + work[j, 2]))
            out[base] = 0.0
            out[base + 1] = -rates[j, 1]
            out[base + 2] = (rates[j, 2] + rates[j, 3] - rates[j, 1] * DESORPTION_HEAT) / capacity
    out[1] = seen[1]
    out[2] = heat
    out[3] = sublimed
    if machine[Machine.HELD] > 0.0:
        out[0], out[4], out[5] = 0.0, 0.0, 0.0
        return True
    demand = heater_demand(state[0], setpoint, heat, machine, seen[3])
    power = min(max(demand, 0.0), heater_allowed(seen[0], machine))
    lost = heat + machine[Machine.WALL_CONDUCTANCE] * (state[0] - seen[3])
    out[0] = (power - lost) / machine[Machine.SHELF_CAPACITY]
    out[4] = power
    warmer = seen[3] - machine[Machine.REFRIGERATION_REFERENCE]
    able = max(machine[Machine.REFRIGERATION] * (1.0 + machine[Machine.REFRIGERATION_SLOPE] * warmer), 1.0)
    duty = min(max(seen[5] / able, 0.0), 1.0)
    out[5] = duty * machine[Machine.COMPRESSOR_POWER] * (1.0 + machine[Machine.COMPRESSOR_SLOPE] * warmer)
    return True


@compiled
def run(
    state: Array,
    program: Array,
    trays: Array,
    machine: Array,
    fronts: Array,
    tolerance: float,
    longest: float,
    times: Array,
    marks: Array,
    series: Array,
) -> tuple[int, int, float]:
    """Step from the start of drying to the end; return (ending, records, end time [s]).

    state: changed in place, holds the end
    program: rows of (duration [s], set-point [K]); an infinite duration means until dry
    fronts: guess of front temperatures [K]
    times: per tray (ice gone, dry, limit passed, thawed, front at start, hottest front, front at end), NaN: never
    marks: as named in happenings.py
    series: rows of records; zero rows: no records
    """
    count = trays.shape[0]
    size = state.size
    k = np.zeros((7, size))
    trial = np.empty(size)
    good_fronts = np.empty(count)
    rates = np.zeros((count, 5))
    work = np.zeros((count, 10))
    seen = np.zeros(7)
    seen[0] = 40.0
    seen[2] = seen[3] = machine[Machine.TRAP_FLOOR]
    records = 0
    now = 0.0
    step = 1.0
    part = 0
    part_end = program[0, 0]
    setpoint = program[0, 1]
    if not slopes(state, setpoint, trays, machine, fronts, seen, rates, work, k[0]):
        return FAILED, 0, now
    for j in range(count):
        times[j, 4] = times[j, 5] = times[j, 6] = fronts[j]
    last_look = 0.0
    last_water = np.inf
    while True:
        if series.shape[0] > records:
            keep(series[records], now, state, seen, rates, fronts, trays)
            records += 1
        # how far: to the end of the program step, and not past the end of anybody's ice
        full = step
        step = min(step, part_end - now, longest - now)
        for j in range(count):
            base = MACHINE_STATES + j * STATES_PER_TRAY
            if state[base] > 0.0 and k[0, base] < 0.0:
                step = min(step, 0.9 * state[base] / -k[0, base])
        good_fronts[:] = fronts
        good_pressure = seen[0]
        # one step, repeated smaller until its error is small enough
        while True:
            good = True
            for stage in range(1, 7):
                for i in range(size):
                    total = 0.0
                    for m in range(stage):
                        total += A[stage, m] * k[m, i]
                    trial[i] = state[i] + step * total
                for j in range(count):
                    base = MACHINE_STATES + j * STATES_PER_TRAY
                    if state[base] > 0.0 and trial[base] <= 0.0:
                        good = False
                if not good or not slopes(trial, setpoint, trays, machine, fronts, seen, rates, work, k[stage]):
                    good = False
                    break
            error = 0.0
            if good:
                for i in range(size):
                    if 2 <= i < MACHINE_STATES:
                        continue  # energy totals follow, they do not steer
                    total = 0.0
                    for m in range(7):
                        total += ERROR[m] * k[m, i]
                    scale = error_scale(i, state, trial, trays)
                    error = max(error, abs(step * total) / (tolerance * scale))
            if good and error <= 1.0:
                break
            step *= max(0.2, 0.9 * error ** (-0.2)) if good else 0.4
            fronts[:] = good_fronts
            seen[0] = good_pressure
            full = step
            if step < SMALLEST_STEP * 1e-3:
                return FAILED, records, now
        growth = 4.0 if error < 1e-4 else min(4.0, 0.9 * error ** (-0.2))
        following = max(step * growth, min(full, step * 20.0)) if step < full else step * growth
        capacity = machine[Machine.TRAP_CAPACITY]
        if machine[Machine.HELD] == 0.0 and trial[1] >= capacity > state[1]:  # stop where the trap is just full
            share = (capacity - state[1]) / (trial[1] - state[1])
            part_way(state, trial, k[0], k[6], step, share)
            step *= share
            slopes(trial, setpoint, trays, machine, fronts, seen, rates, work, k[6])
        # dryness of each tray, found inside the step
        latest = 0.0
        all_dry = True
        for j in range(count):
            base = MACHINE_STATES + j * STATES_PER_TRAY
            if np.isnan(times[j, 1]):
                tray = trays[j]
                after = moisture(trial, tray, base)
                if trial[base] == 0.0 and after <= tray[Tray.TARGET]:
                    before = moisture(state, tray, base)
                    level = tray[Tray.TARGET]
                    share = 0.0
                    if before > level:
                        scale = tray[Tray.SOLIDS]
                        share = crossing(before, after, k[0, base + 1] / scale, k[6, base + 1] / scale, step, level)
                    times[j, 1] = max(now + share * step, times[j, 0])  # not before its ice is gone
                    latest = max(latest, share)
                else:
                    all_dry = False
        if all_dry and latest < 1.0 and np.isinf(part_end) and latest > 0.0:
            part_way(state, trial, k[0], k[6], step, latest)
            step *= latest
        trap_closes(state, trial, trays)
        now += step
        if machine[Machine.HELD] == 0.0:
            look(trial, setpoint, machine, rates, seen, marks, now, step)
        for i in range(size):
            state[i] = trial[i]
            k[0, i] = k[6, i]
        restart = False
        for j in range(count):
            base = MACHINE_STATES + j * STATES_PER_TRAY
            if state[base] <= 0.0:
                continue
            times[j, 6] = fronts[j]
            times[j, 5] = max(times[j, 5], fronts[j])
            if np.isnan(times[j, 2]) and fronts[j] > trays[j, Tray.LIMIT]:
                times[j, 2] = now
            if np.isnan(times[j, 3]) and fronts[j] > trays[j, Tray.THAW]:
                times[j, 3] = now
            if state[base] < U_END:
                finish_ice(state, trays[j], base, rates[j, 4])
                times[j, 0] = now + U_END / max(-k[0, base], 1e-12) if k[0, base] < 0.0 else now
                restart = True
        if all_dry and np.isinf(part_end):
            ending = DONE_DRY
        elif machine[Machine.HELD] == 0.0 and state[1] >= machine[Machine.TRAP_CAPACITY] * (1.0 - 1e-6):
            ending = DONE_TRAP
        elif now >= longest:
            ending = DONE_TIME
        else:
            ending = -1
        if now >= part_end - 1e-9 and ending < 0:
            part += 1
            if part >= program.shape[0]:
                ending = DONE_DRY if all_dry else DONE_PROGRAM
            else:
                part_end = now + program[part, 0]
                setpoint = program[part, 1]
                restart = True
                following = min(following, 10.0)
        if ending < 0 and np.isinf(part_end) and now - last_look > 6 * 3600.0:
            water = 0.0
            for j in range(count):
                water += moisture(state, trays[j], MACHINE_STATES + j * STATES_PER_TRAY) * trays[j, Tray.SOLIDS]
            if last_water - water < 2e-4 * water:
                ending = DONE_STALLED
            last_look, last_water = now, water
        if ending >= 0:
            if series.shape[0] > records:
                slopes(state, setpoint, trays, machine, fronts, seen, rates, work, k[0])
                keep(series[records], now, state, seen, rates, fronts, trays)
                records += 1
            return ending, records, now
        step = max(following, SMALLEST_STEP)
        if restart and not slopes(state, setpoint, trays, machine, fronts, seen, rates, work, k[0]):
            return FAILED, records, now


@compiled
def error_scale(i: int, before: Array, after: Array, trays: Array) -> float:
    """Return the size that an error of state `i` is measured against, in units of the relative tolerance."""
    if i == 0:
        return 300.0
    if i == 1:
        return 0.1 + abs(after[i])
    j, part = divmod(i - MACHINE_STATES, STATES_PER_TRAY)
    if part == 0:
        return 0.01 + abs(before[i])
    if part == 1:
        return 0.01 * trays[j, Tray.SOLIDS] + abs(after[i])
    return 300.0
