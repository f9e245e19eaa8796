"""Time stepping of the coupled balance, compiled: Dormand-Prince 5(4) with events found inside the step.

The order within a step matters: the ice that ends and the trap that fills cut it short before dryness is looked for in
it; the trap's ice is then set from what the food lost, so that no water is lost to rounding, however long the run.
"""

import math

import numpy as np

from drystow.machine.balance import solve_fronts
from drystow.machine.dried_layer import DESORPTION_HEAT, STICK
from drystow.machine.events import (
    heater_allowed,
    heater_demand,
    keep,
    moisture,
    note_dry,
    note_fronts,
    note_machine,
    note_start,
    part_way,
    trap_closes,
)
from drystow.machine.layout import (
    CELLS,
    CHAMBER_STATES,
    FOOD_STATES,
    MACHINE_STATES,
    STATES_PER_TRAY,
    Balance,
    ChamberState,
    FoodState,
    ItemState,
    Log,
    Machine,
    ProgramRow,
    State,
    Tray,
)
from drystow.numerics import Array
from drystow.numerics.compiled import compiled

LIQUID_HEAT_CAPACITY = 4180.0  # [J/(kg K)]
SHORTEST_LAG = 40.0  # of the dried food behind its heat supply: no crumb is followed by the second [s]
FIRST_STEP, SMALLEST_STEP = 1.0, 1e-3  # [s]
SURE_STEP = 2.0  # that is taken whatever its error: no course changes in so short a time [s]; drystow-default
STEP_AFTER_CHANGE = 10.0  # at most, when the program's set-point jumps [s]
GROWTH = 4.0  # of a step, at most
FIRST_FRONT, FIRST_PRESSURE = 240.0, 40.0  # guesses before anything is solved [K], [Pa]
WARM_FRONT = 268.0  # guess of a front that has another place [K]
STALL_CHECK, STALLED_BELOW = (
    6 * 3600.0,
    2e-4,
)  # a run until dry that loses less of its water in this time never gets dry

DONE_DRY, DONE_PROGRAM, DONE_TRAP, DONE_TIME, DONE_STALLED, FAILED = 0, 1, 2, 3, 4, 5
RUNNING = -1

STAGES = 7
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
def new_balance(trays: Array, machine: Array) -> Balance:
    """Return the balance of which nothing is known but the numbers of trays and machine, with first guesses."""
    balance = Balance(trays, machine, np.zeros((trays.shape[0], FOOD_STATES)), np.zeros(CHAMBER_STATES))
    guess_first(balance, FIRST_FRONT)
    return balance


@compiled
def guess_first(balance: Balance, front: float) -> None:
    """Forget what the balance was like, and put in first guesses, one for all fronts [K]."""
    trays, machine, foods, chamber = balance
    foods[:] = 0.0
    chamber[:] = 0.0
    for j in range(trays.shape[0]):
        foods[j, FoodState.FRONT] = min(front, trays[j, Tray.THAW])
    chamber[ChamberState.PRESSURE] = FIRST_PRESSURE
    chamber[ChamberState.TRAP_SURFACE] = chamber[ChamberState.EVAPORATOR] = machine[Machine.TRAP_FLOOR]


@compiled
def new_state(trays: Array, shelf: float) -> Array:
    """Return the state of tray items at the start of drying: all water there, everything as warm as the shelf."""
    state = np.zeros(MACHINE_STATES + STATES_PER_TRAY * trays.shape[0])
    state[State.SHELF] = shelf
    for j in range(trays.shape[0]):
        base = MACHINE_STATES + j * STATES_PER_TRAY
        state[base + ItemState.FRACTION] = 1.0
        state[base + ItemState.WATER : base + ItemState.WATER + CELLS] = trays[j, Tray.UNFROZEN]
        state[base + ItemState.TEMPERATURE] = shelf
    return state


@compiled
def slopes(
    state: Array, setpoint: float, trays: Array, machine: Array, foods: Array, chamber: Array, out: Array
) -> bool:
    """Fill `out` with the rate of change of every state; return False when the balance has no solution."""
    if solve_fronts(state, trays, machine, foods, chamber) == 0:
        return False
    heat, sublimed = tray_slopes(state, trays, foods, out)
    out[State.TRAP_ICE] = chamber[ChamberState.FLOW]
    out[State.FOOD_HEAT] = heat
    out[State.SUBLIMATION_HEAT] = sublimed
    if machine[Machine.HELD] > 0.0:
        out[State.SHELF] = out[State.HEATER_ENERGY] = out[State.COMPRESSOR_ENERGY] = 0.0
        return bool(math.isfinite(out.sum()))
    shelf, evaporator = state[State.SHELF], chamber[ChamberState.EVAPORATOR]
    demand = heater_demand(shelf, setpoint, heat, machine, evaporator)
    power = min(max(demand, 0.0), heater_allowed(chamber[ChamberState.PRESSURE], machine))
    lost = heat + machine[Machine.WALL_CONDUCTANCE] * (shelf - evaporator)
    out[State.SHELF] = (power - lost) / machine[Machine.SHELF_CAPACITY]
    out[State.HEATER_ENERGY] = power
    warmer = evaporator - machine[Machine.REFRIGERATION_REFERENCE]
    able = max(machine[Machine.REFRIGERATION] * (1.0 + machine[Machine.REFRIGERATION_SLOPE] * warmer), 1.0)
    duty = min(max(chamber[ChamberState.REFRIGERATION_LOAD] / able, 0.0), 1.0)
    full = machine[Machine.COMPRESSOR_POWER]
    out[State.COMPRESSOR_ENERGY] = duty * full * (1.0 + machine[Machine.COMPRESSOR_SLOPE] * warmer)
    # A step that is far too long ends where no formula holds; an error that is no number would pass for none.
    return bool(math.isfinite(out.sum()))


@compiled
def tray_slopes(state: Array, trays: Array, foods: Array, out: Array) -> tuple[float, float]:
    """Fill the tray items' rates of change; return the heat into all food and into ice that sublimes [W]."""
    heat = sublimed = 0.0
    for j in range(trays.shape[0]):
        tray, food = trays[j], foods[j]
        base = MACHINE_STATES + j * STATES_PER_TRAY
        fraction, water, temperature = base + ItemState.FRACTION, base + ItemState.WATER, base + ItemState.TEMPERATURE
        own = food[FoodState.CONTACT_HEAT] + food[FoodState.ABOVE_HEAT]
        heat += own + food[FoodState.MORE]
        out[water : water + CELLS] = food[FoodState.WATER_SLOPE : FoodState.WATER_SLOPE + CELLS]
        u = state[fraction]
        if u > 0.0:
            sublimed += own - food[FoodState.SINK]
            front_rate = food[FoodState.SUBLIMATION] / tray[Tray.ICE]
            power = 0.5 * tray[Tray.DIMENSION]
            out[fraction] = -front_rate / (power * u ** (power - 1.0)) if power > 0.5 * STICK else -front_rate
            out[temperature] = 0.0
        else:
            held = state[water : water + CELLS].sum() / CELLS * tray[Tray.SOLIDS]
            capacity = tray[Tray.SOLIDS] * tray[Tray.HEAT_CAPACITY] + held * LIQUID_HEAT_CAPACITY
            capacity = max(capacity, SHORTEST_LAG * (food[FoodState.CONTACT] + food[FoodState.ABOVE]))
            out[fraction] = 0.0
            out[temperature] = (own - food[FoodState.DESORPTION] * DESORPTION_HEAT) / capacity
    return heat, sublimed


@compiled
def run(
    state: Array, program: Array, trays: Array, machine: Array, tolerance: float, longest: float, log: Log
) -> tuple[int, int, float]:
    """Step from the start of drying to the end; return (ending, records, end time [s]).

    state: changed in place, holds the end
    program: `ProgramRow`; an infinite duration means until dry
    tolerance: relative error of a step [-]
    longest: time after which the run ends in any case [s]
    log: what happened is written here
    """
    held, series = machine[Machine.HELD] > 0.0, log.series
    balance = new_balance(trays, machine)
    foods, chamber = balance.foods, balance.chamber_state
    k, trial = np.zeros((STAGES, state.size)), np.empty(state.size)
    now, step, part, records = 0.0, FIRST_STEP, 0, 0
    part_end, setpoint = program[0, ProgramRow.DURATION], program[0, ProgramRow.SETPOINT]
    checked, water_then = 0.0, np.inf
    if not slopes(state, setpoint, trays, machine, foods, chamber, k[0]):
        return FAILED, 0, now
    note_start(foods, log)
    while True:
        if series.shape[0] > records:
            keep(series[records], now, state, trays, foods, chamber)
            records += 1
        cut = cut_short(min(step, part_end - now, longest - now), state, k[0])
        taken, error = accepted_step(cut, state, setpoint, balance, tolerance, k, trial)
        if error < 0.0:
            # Fronts may have two places; where the one that they stood in is gone, they are looked for from the start.
            cut = min(cut, FIRST_STEP)
            for front in (WARM_FRONT, FIRST_FRONT):
                if error < 0.0:
                    guess_first(balance, front)
                    if slopes(state, setpoint, trays, machine, foods, chamber, k[0]):
                        taken, error = accepted_step(cut, state, setpoint, balance, tolerance, k, trial)
            if error < 0.0:
                return FAILED, records, now
        following = next_step(taken, step if taken == cut else taken, error)
        step = until_trap_is_full(taken, state, setpoint, balance, k, trial)
        all_dry, latest = note_dry(state, trial, k[0], k[6], trays, now, step, log)
        if all_dry and math.isinf(part_end) and 0.0 < latest < 1.0:  # the run ends where its last tray is dry
            part_way(state, trial, k[0], k[6], step, latest)
            step *= latest
        trap_closes(state, trial, trays)
        now += step
        if not held:
            note_machine(trial, setpoint, machine, foods, chamber, now, step, log)
        state[:] = trial
        k[0] = k[6]  # the last stage of a step is the first of the next
        restart = note_fronts(state, k[0], trays, foods, now, log)
        ending = ended(state, machine, all_dry and math.isinf(part_end), now >= longest)
        if ending == RUNNING and now >= part_end - 1e-9:
            part += 1
            if part >= program.shape[0]:
                ending = DONE_DRY if all_dry else DONE_PROGRAM
            else:
                part_end, setpoint = now + program[part, ProgramRow.DURATION], program[part, ProgramRow.SETPOINT]
                restart, following = True, min(following, STEP_AFTER_CHANGE)
                if held:
                    state[State.SHELF] = setpoint
        if ending == RUNNING and math.isinf(part_end) and now - checked > STALL_CHECK:
            water = water_left(state, trays)
            if water_then - water < STALLED_BELOW * water:
                ending = DONE_STALLED
            checked, water_then = now, water
        if ending != RUNNING:
            if series.shape[0] > records:
                slopes(state, setpoint, trays, machine, foods, chamber, k[0])
                keep(series[records], now, state, trays, foods, chamber)
                records += 1
            return ending, records, now
        step = max(following, SMALLEST_STEP)
        if restart and not slopes(state, setpoint, trays, machine, foods, chamber, k[0]):
            return FAILED, records, now


@compiled
def cut_short(step: float, state: Array, slope: Array) -> float:
    """Return a step that does not go past the end of any tray's ice, where the balance changes its form [s]."""
    for base in range(MACHINE_STATES, state.size, STATES_PER_TRAY):
        fraction = base + ItemState.FRACTION
        if state[fraction] > 0.0 and slope[fraction] < 0.0:
            # Not all of it: within the step the slope changes, and a stage without ice has no front to solve for.
            step = min(step, 0.9 * state[fraction] / -slope[fraction])
    return step


@compiled
def accepted_step(
    step: float, state: Array, setpoint: float, balance: Balance, tolerance: float, k: Array, trial: Array
) -> tuple[float, float]:
    """Try a step, smaller and smaller until its error is small enough; return its length [s] and its error.

    The error counts in units of the tolerance; below zero: there is no step that the balance has a solution for.
    """
    foods, chamber = balance.foods, balance.chamber_state
    good_foods, good_chamber = foods.copy(), chamber.copy()
    while True:
        solved = all_stages(step, state, setpoint, balance, k, trial)
        error = error_of(step, state, trial, k, tolerance) if solved else 0.0
        # Where desorption and front answer each other so strongly that the solver's noise shows, no step is too bad.
        if solved and (error <= 1.0 or step <= SURE_STEP):
            return step, min(error, 1.0)
        step *= max(0.2, 0.9 * error ** (-0.2)) if solved else 0.4
        # A failed trial leaves guesses from which Newton may never come back.
        foods[:] = good_foods
        chamber[:] = good_chamber
        if step < SMALLEST_STEP * 1e-3:
            return step, -1.0


@compiled
def all_stages(step: float, state: Array, setpoint: float, balance: Balance, k: Array, trial: Array) -> bool:
    """Fill the slopes of all stages of a step and the state at its end; return whether there is one."""
    trays, machine, foods, chamber = balance
    for stage in range(1, STAGES):
        for i in range(state.size):
            total = 0.0
            for m in range(stage):
                total += A[stage, m] * k[m, i]
            trial[i] = state[i] + step * total
        for base in range(MACHINE_STATES, state.size, STATES_PER_TRAY):
            fraction = base + ItemState.FRACTION
            if state[fraction] > 0.0 and trial[fraction] <= 0.0:
                return False
        if not slopes(trial, setpoint, trays, machine, foods, chamber, k[stage]):
            return False
    return True


@compiled
def error_of(step: float, state: Array, trial: Array, k: Array, tolerance: float) -> float:
    """Return the largest error of a step, in units of what is tolerated [-]."""
    error = 0.0
    for i in range(state.size):
        if State.FOOD_HEAT <= i < MACHINE_STATES:
            continue  # energy totals follow, they do not steer
        total = 0.0
        for m in range(STAGES):
            total += ERROR[m] * k[m, i]
        scale = error_scale(i, state, trial)
        error = max(error, abs(step * total) / (tolerance * scale))
    return error


@compiled
def error_scale(i: int, before: Array, after: Array) -> float:
    """Return the size that an error of state `i` is measured against, in units of the relative tolerance."""
    if i == State.SHELF:
        return 300.0
    if i == State.TRAP_ICE:
        return 0.1 + abs(after[i])
    part = (i - MACHINE_STATES) % STATES_PER_TRAY
    if part == ItemState.FRACTION:
        return 0.01 + abs(before[i])
    if part == ItemState.TEMPERATURE:
        return 300.0
    return 0.01 + abs(after[i])


@compiled
def next_step(step: float, wished: float, error: float) -> float:
    """Return the length of the next step [s]; one that was cut short for the ice or the program is soon long again.

    wished: length before it was cut short; that of the step itself where its error made it shorter [s]
    """
    growth = GROWTH if error < 1e-4 else min(GROWTH, 0.9 * error ** (-0.2))
    return max(step * growth, min(wished, step * 20.0)) if step < wished else step * growth


@compiled
def until_trap_is_full(step: float, state: Array, setpoint: float, balance: Balance, k: Array, trial: Array) -> float:
    """Return the step, cut where the trap is just full [s], with `trial` and the last slopes at its end."""
    trays, machine, foods, chamber = balance
    capacity = machine[Machine.TRAP_CAPACITY]
    before, after = state[State.TRAP_ICE], trial[State.TRAP_ICE]
    if machine[Machine.HELD] > 0.0 or not after >= capacity > before:
        return step
    share = (capacity - before) / (after - before)
    part_way(state, trial, k[0], k[6], step, share)
    slopes(trial, setpoint, trays, machine, foods, chamber, k[6])
    return step * share


@compiled
def ended(state: Array, machine: Array, dry: bool, late: bool) -> int:
    """Return how a run has ended, `RUNNING` while it has not."""
    if dry:
        return DONE_DRY
    if machine[Machine.HELD] == 0.0 and state[State.TRAP_ICE] >= machine[Machine.TRAP_CAPACITY] * (1.0 - 1e-6):
        return DONE_TRAP
    return DONE_TIME if late else RUNNING


@compiled
def water_left(state: Array, trays: Array) -> float:
    """Return the water that is left in all food [kg]."""
    water = 0.0
    for j in range(trays.shape[0]):
        water += moisture(state, trays[j], MACHINE_STATES + j * STATES_PER_TRAY) * trays[j, Tray.SOLIDS]
    return water
