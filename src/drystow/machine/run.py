"""Simulate a load: freeze, pull the vacuum, dry, and say what happened."""

import math
from dataclasses import replace

import numpy as np

from drystow.errors import InputError
from drystow.freezing.piece import Freezing, freeze_piece
from drystow.machine import stepper
from drystow.machine.events import new_log
from drystow.machine.item import TrayItem, tray_row
from drystow.machine.layout import Tray
from drystow.machine.load import Load
from drystow.machine.profile import machine_array
from drystow.machine.result import LoadResult
from drystow.machine.summary import Raw, opened, summarise, with_hours_saved
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.water import TRIPLE_POINT
from drystow.ranges import LONGEST

TOLERANCE = 1e-5
MOST_RECORDS = 6000
LONGEST_FREEZING = 4 * 24 * 3600.0
NO_BALANCE = msg(
    "the chamber pressure finds no balance; check the dryer’s air leak, pump speed and vapor flow to the trap"
)


def simulate(load: Load, *, series: bool = True, tolerance: float = TOLERANCE) -> LoadResult:
    """Return the simulated course of a load.

    load: food, dryer and program
    series: keep the arrays over time
    tolerance: relative error of a time step [-]
    Valid: one front per tray item; slabs, sticks, spheres and cube-like pieces.
    Source: drying-notes, moving front with machine balances.
    """
    freezing = freeze_load(load)
    for number, (item, result) in enumerate(zip(load.items, freezing, strict=True), start=1):
        if math.isnan(result.time):
            raise InputError(
                f"tray[{number}]",
                msg(
                    "'{food}' is not frozen through after four days; cut it thinner or freeze it colder",
                    food=item.food.name,
                ),
            )
    start, shelf = start_of_drying(load, freezing)
    raw = dry(load_arrays(load), drying_program(load), shelf, tolerance, MOST_RECORDS if series else 0)
    told, pricked = summarise(load, freezing, start, raw), opened(load)
    if not series or pricked is None:
        return told
    raw = dry(load_arrays(pricked), drying_program(load), shelf, tolerance, 0)
    return with_hours_saved(told, summarise(pricked, freezing, start, raw))


def freeze_load(load: Load) -> list[Freezing]:
    """Return how each item freezes; all take longer when the freezer's power is too small for the load.

    load: food, dryer and program
    Source: definition, heat to remove over the power that removes it.
    """
    freezing = [freeze_item(item, load) for item in load.items]
    heat = sum(result.heat * item.mass for item, result in zip(load.items, freezing, strict=True))
    slowest = max(result.time for result in freezing)
    needed = heat / load.rig.dryer.freezer_power
    if slowest > 0.0 and needed > slowest:
        return [replace(result, time=result.time * needed / slowest) for result in freezing]
    return freezing


def freeze_item(item: TrayItem, load: Load) -> Freezing:
    """Return how an item freezes, at once when it comes frozen.

    item: the food on the tray
    load: the load it belongs to
    """
    if item.frozen:
        return Freezing(0.0, item.start_temperature, item.start_temperature, 0.0)
    dryer = load.rig.dryer
    return freeze_piece(
        item.food.composition,
        item.freezing_point,
        item.shape,
        item.size,
        item.density,
        item.start_temperature,
        load.rig.freeze_to,
        dryer.freezer_temperature,
        dryer.freezer_air,
        dryer.freezer_base,
        LONGEST_FREEZING,
    )


def load_arrays(load: Load) -> tuple[Array, Array]:
    """Return the tray rows and the machine row that the compiled balance reads.

    load: food, dryer and program
    """
    rig, dryer = load.rig, load.rig.dryer
    contact = (dryer.contact_constant, dryer.contact_gas, dryer.contact_saturation)
    trays = np.array([tray_row(item, contact, dryer.above) for item in load.items])
    if rig.pressure is not None:  # the pure front problem knows pure ice only
        trays[:, Tray.THAW] = TRIPLE_POINT
    return trays, machine_array(dryer, rig.pressure, rig.upper_offset, rig.surroundings, rig.air_pressure)


def dry(arrays: tuple[Array, Array], program: Array, shelf: float, tolerance: float, records: int) -> Raw:
    """Return the raw outcome of the drying stage.

    arrays: tray rows and machine row
    program: rows of duration [s] and set-point [K]
    shelf: shelf temperature at the start [K]
    tolerance: relative error of a time step [-]
    records: most records kept; 0 keeps none
    """
    trays, machine = arrays
    state, log = stepper.new_state(trays, shelf), new_log(len(trays), records)
    ending, kept, end = stepper.run(state, program, trays, machine, tolerance, LONGEST, log)
    if ending == stepper.FAILED:
        raise InputError("dryer", NO_BALANCE)
    return Raw(ending, end, state, log.tray_times, log.event_times, log.series[:kept], trays)


def start_of_drying(load: Load, freezing: list[Freezing]) -> tuple[float, float]:
    """Return when vacuum and heat begin [s] and how warm the shelf is then [K].

    load: food, dryer and program
    freezing: how each item froze
    """
    if load.rig.pressure is not None:
        return 0.0, load.rig.program[0].shelf
    start = max(result.time for result in freezing) + load.rig.dryer.pump_down
    if all(item.frozen for item in load.items):
        return start, float(np.mean([result.mean_temperature for result in freezing]))
    return start, max(load.rig.dryer.freezer_temperature, min(result.mean_temperature for result in freezing))


def drying_program(load: Load) -> Array:
    """Return the program as rows of duration [s] and set-point [K].

    load: food, dryer and program
    """
    return np.array([(step.duration, step.shelf) for step in load.rig.program])
