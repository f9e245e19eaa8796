"""A run that goes on after a power cut: from the state that the cut left, each member on its own."""

from dataclasses import dataclass

import numpy as np

from drystow.errors import InputError
from drystow.evidence.outage.advice import UNTOUCHED, Outage
from drystow.evidence.outage.thawing import CORE_GONE, MACHINE, PER_ITEM, WarmItem, WarmState
from drystow.freezing.piece import freeze_piece
from drystow.machine import stepper
from drystow.machine.dried_layer import ice_measure
from drystow.machine.ensemble import ALLOWED_FAILURES, ENSEMBLE_TOLERANCE, Members
from drystow.machine.events import new_log
from drystow.machine.item import TrayItem
from drystow.machine.layout import CELLS, MACHINE_STATES, STATES_PER_TRAY, ItemState, ProgramRow, State, Tray, TrayTime
from drystow.machine.load import Load
from drystow.machine.run import LONGEST_FREEZING, NO_BALANCE, drying_program
from drystow.machine.sampling import drawn_numbers
from drystow.numerics import Array
from drystow.properties.ice import ice_fraction
from drystow.properties.thermal import enthalpy_table
from drystow.ranges import LONGEST

THAWED = 277.15
"""Food whose freezing is worked out begins at this temperature [K]. Source: drystow-default."""

SHARES = (10.0, 50.0, 90.0)


@dataclass(frozen=True)
class Resumed:
    """What became of the run.

    delay: per member and item, by how much later it is dry (members, items) [s]
    whole: per member, by how much later the run ends (members,) [s]
    refreezing: per member, until food that melted is frozen again; 0 where it stayed frozen (members,) [s]
    shift: 10th, 50th and 90th percentile of the ends with the cut over those without it [s]
    """

    delay: Array
    whole: Array
    refreezing: Array
    shift: tuple[float, float, float]


def resumed(load: Load, outage: Outage, runs: Members, states: Array) -> Resumed:
    """Return when everything is dry with the cut in it, against the same members without one.

    load: food, dryer and program
    outage: the cut
    runs: the members without it, looked at when it begins
    states: of the cut (members, moments, states), in the order of `thawing`
    Source: drystow-default; food that melted by more than a tenth is frozen again first, then the trap gets cold, the
    vacuum comes back, and the program goes on where it stopped. Moisture that an open chamber brings is left out.
    """
    drawn, program = drawn_numbers(load, runs.draws), program_after(drying_program(load), outage.start)
    again = refreezing_times(load, states) * runs.freezing[:, None]
    longest = again.max(axis=1)
    heat = states[:, :, WarmState.TRAP_HEAT]
    warmed = np.maximum(heat[:, -1] - heat[:, 0], 0.0) / load.rig.dryer.refrigeration
    wait = outage.duration + longest + warmed + load.rig.dryer.pump_down
    dry_after, end_after, failed = np.empty(again.shape), np.empty(len(again)), np.zeros(len(again), dtype=bool)
    cold = load.rig.dryer.freezer_temperature
    for member in range(len(again)):
        rows = drawn.trays[member]
        state = _state(load, runs, member, states[member, -1], rows)
        if longest[member] > 0.0:
            state[State.SHELF] = cold
        steps = program + np.array([0.0, drawn.shelf_offset[member]])
        dry_after[member], end_after[member], failed[member] = _dry_on(state, steps, rows, drawn.machines[member])
    if failed.mean() > ALLOWED_FAILURES:
        raise InputError("dryer", NO_BALANCE)
    dry, end = runs.dry - runs.start[:, None], runs.end - runs.start
    later = outage.start + wait[:, None] + dry_after - dry
    later = np.where(np.isnan(later), wait[:, None], later)
    whole = np.where(failed, wait, np.maximum(outage.start + wait + end_after - end, 0.0))
    whole = np.where(end <= outage.start, 0.0, whole)
    with_cut, without = np.percentile(end + whole, SHARES), np.percentile(end, SHARES)
    early, middle, late = (float(one) for one in with_cut - without)
    return Resumed(np.where(dry <= outage.start, 0.0, np.maximum(later, 0.0)), whole, longest, (early, middle, late))


def program_after(program: Array, elapsed: float) -> Array:
    """Return what is left of a program, its last row at least for a moment.

    program: rows of duration [s] and set-point [K]
    elapsed: drying time that is over [s]

    >>> print(program_after(np.array([[3600.0, 263.0], [np.inf, 313.0]]), 1800.0)[0, 0])
    1800.0
    """
    ends = np.cumsum(program[:, ProgramRow.DURATION])
    first = min(int(np.searchsorted(ends, elapsed, side="right")), len(program) - 1)
    rest = program[first:].copy()
    rest[0, ProgramRow.DURATION] = max(ends[first] - elapsed, 1.0)
    return rest


def refreezing_times(load: Load, states: Array) -> Array:
    """Return how long each item takes until it is frozen again (members, items), 0 where it stayed frozen [s].

    load: food and dryer
    states: of the cut (members, moments, states), in the order of `thawing`
    Source: definition, in proportion to the heat; as long as fresh food of its size, from 4 °C.
    """
    times = np.zeros((len(states), len(load.items)))
    for number, item in enumerate(load.items):
        base = MACHINE + PER_ITEM * number
        temperatures, enthalpies = enthalpy_table(item.food.composition, item.freezing_point)
        core = np.interp(states[:, :, base + WarmItem.ENTHALPY][:, [0, -1]], enthalpies, temperatures)
        ice = np.asarray(ice_fraction(item.food.composition, item.freezing_point, core))
        left = states[:, -1, base + WarmItem.CORE] / item.mass
        melted = (left > CORE_GONE) & (ice[:, 1] < (1.0 - UNTOUCHED) * ice[:, 0])
        if melted.any():
            cold, warm = (float(np.interp(one, temperatures, enthalpies)) for one in (load.rig.freeze_to, THAWED))
            share = left * (states[:, -1, base + WarmItem.ENTHALPY] - cold) / (warm - cold)
            times[:, number] = np.where(melted, _freezing_time(item, load) * np.clip(share, 0.0, 2.0), 0.0)
    return times


def _freezing_time(item: TrayItem, load: Load) -> float:
    dryer = load.rig.dryer
    found = freeze_piece(
        item.food.composition,
        item.freezing_point,
        item.shape,
        item.size,
        item.density,
        THAWED,
        load.rig.freeze_to,
        dryer.freezer_temperature,
        dryer.freezer_air,
        dryer.freezer_base,
        LONGEST_FREEZING,
    )
    return found.time if np.isfinite(found.time) else LONGEST_FREEZING


def _state(load: Load, runs: Members, member: int, after: Array, rows: Array) -> Array:
    state = np.zeros(MACHINE_STATES + STATES_PER_TRAY * len(rows))
    state[State.SHELF], state[State.TRAP_ICE] = after[WarmState.SHELF], max(float(after[WarmState.TRAP_ICE]), 0.0)
    for number, row in enumerate(rows):
        base = MACHINE_STATES + STATES_PER_TRAY * number
        _enthalpy, core_mass, temperature = after[MACHINE + PER_ITEM * number :][:PER_ITEM]
        before = 1.0 - float(runs.dried_fraction[member, 0, number])
        left = min(core_mass / load.items[number].mass, before)
        left = left if left > CORE_GONE else 0.0
        state[base + ItemState.FRACTION] = ice_measure(row[Tray.DIMENSION], left) if left > 0.0 else 0.0
        state[base + ItemState.WATER : base + ItemState.WATER + CELLS] = runs.water[member, 0, number]
        state[base + ItemState.TEMPERATURE] = temperature
    return state


def _dry_on(state: Array, program: Array, rows: Array, machine: Array) -> tuple[Array, float, bool]:
    """Return when each item is dry, NaN: never, when the run ends, from when the vacuum is back [s], and whether the
    numbers have no balance.
    """
    log, fractions = new_log(len(rows), 0), state[MACHINE_STATES + ItemState.FRACTION :: STATES_PER_TRAY]
    log.tray_times[fractions <= 0.0, TrayTime.ICE_GONE] = 0.0  # their ice was gone before
    ending, _kept, end = stepper.run(state, program, rows, machine, ENSEMBLE_TOLERANCE, LONGEST, log)
    return log.tray_times[:, TrayTime.DRY], float(end), bool(ending == stepper.FAILED)
