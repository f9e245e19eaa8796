"""Charts of the machine: pressure, vapor, ice on the trap, electricity."""

import numpy as np

from drystow.costs.batch import JOULES_PER_KWH
from drystow.machine.result import LoadResult
from drystow.messages import msg
from drystow.reports.charts import (
    COLOURS,
    DASHES,
    INK,
    SOLID,
    ChartLine,
    Spec,
    line_chart,
    to_display_array,
)
from drystow.shown import DISPLAY, to_display
from drystow.units import hours

HEIGHT = 170
LOWEST_PRESSURE = 0.01  # that a logarithmic axis shows [Pa]


def pressure_chart(result: LoadResult, units: str = "us") -> Spec:
    """Return the chamber pressure from the start of drying, with the limit at which the heaters pause."""
    unit = DISPLAY["pressure"][units][0]
    drying = result.time >= result.drying_start
    pressure = np.maximum(result.chamber_pressure[drying], LOWEST_PRESSURE)
    chamber = msg("Chamber")
    rules = [
        {
            "start_h": hours(result.drying_start),
            "end_h": hours(result.total_time),
            "value": to_display(result.machine.pressure_limit, "pressure", units),
            "name": chamber,
            "label": msg("heaters pause above this"),
        }
    ]
    line = ChartLine(
        chamber, "", result.time[drying], to_display_array(pressure, "pressure", units), COLOURS[0], DASHES[0]
    )
    return line_chart(
        [line],
        msg("Pressure ({unit})", unit=unit),
        msg("Pressure in the chamber"),
        rules=rules if result.machine.pressure_limit > 0.0 else (),
        log=True,
        height=HEIGHT,
    )


def vapour_chart(result: LoadResult, units: str = "us") -> Spec:
    """Return the vapour that reaches the trap."""
    unit = DISPLAY["mass flow"][units][0]
    vapour = to_display_array(result.vapour, "mass flow", units)
    line = ChartLine(msg("Vapor"), "", result.time, vapour, COLOURS[0], DASHES[0])
    return line_chart(
        [line], msg("Vapor ({unit})", unit=unit), msg("Vapor moving to the trap"), from_zero=True, height=HEIGHT
    )


def trap_chart(result: LoadResult, units: str = "us") -> Spec:
    """Return the ice on the trap against what it can hold."""
    unit = DISPLAY["mass"][units][0]
    trap = msg("Trap")
    rule = {
        "start_h": 0.0,
        "end_h": hours(result.total_time),
        "value": to_display(result.machine.trap_capacity, "mass", units),
        "name": trap,
        "label": msg("full"),
    }
    line = ChartLine(trap, "", result.time, to_display_array(result.trap_ice, "mass", units), COLOURS[0], DASHES[0])
    axis = msg("Ice ({unit})", unit=unit)
    return line_chart([line], axis, msg("Ice on the trap"), rules=[rule], from_zero=True, height=HEIGHT)


def energy_lines(result: LoadResult) -> list[ChartLine]:
    """Return the electricity used so far: all of it, and each of those who use it [kWh]."""
    course = result.energy
    parts = (course.refrigeration, course.pump, course.heaters)
    whole = course.refrigeration + course.pump + course.heaters
    names = (msg("C Compressor"), msg("P Vacuum pump"), msg("H Shelf heaters"))
    lines = [ChartLine(msg("T Total"), "T", course.time, whole / JOULES_PER_KWH, INK, SOLID)]
    for number, (name, part) in enumerate(zip(names, parts, strict=True)):
        lines.append(
            ChartLine(
                name, name[0], course.time, part / JOULES_PER_KWH, COLOURS[number], DASHES[(number + 1) % len(DASHES)]
            )
        )
    return lines


def energy_chart(result: LoadResult) -> Spec:
    """Return the electricity used so far, in all and by whom."""
    axis = msg("Electricity so far ({unit})", unit="kWh")
    return line_chart(energy_lines(result), axis, msg("Electricity"), from_zero=True, height=HEIGHT)
