"""Charts of the machine: pressure, vapor, ice on the trap, electricity."""

from collections.abc import Sequence

import numpy as np

from drystow.costs.batch import JOULES_PER_KWH
from drystow.machine.result import LoadResult
from drystow.messages import Message, msg
from drystow.reports.charts import (
    COLOURS,
    DASHES,
    INK,
    MUTED,
    SOLID,
    ChartLine,
    Datasets,
    Spec,
    configured,
    line_chart,
    on_rows,
    to_display_array,
)
from drystow.reports.pictures import Picture
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


LEARNED_SIZE = {"width": 560, "height": 220}
BAND = 0.18  # opacity


def learning_picture(steps: Sequence[tuple[float, float, float]], what: Message, truth: float | None = None) -> Picture:
    """Return the picture of a number against its published value, before the first batch and after each.

    steps: low, middle and high of its factor, nine in ten between low and high [-]
    what: the number, in words
    truth: its real factor where it is known, as in a test [-]
    """
    first, last = steps[0], steps[-1]
    words = msg(
        "{what}, compared with the usual value: {low:.0%} to {high:.0%} before the first batch, "
        "{middle:.0%} after {count} batches (nine in ten from {least:.0%} to {most:.0%}).",
        what=what, low=first[0], high=first[2], count=len(steps) - 1, middle=last[1], least=last[0], most=last[2],
    )  # fmt: skip
    return Picture("learning", what, words, _chart(steps, truth))


def _chart(steps: Sequence[tuple[float, float, float]], truth: float | None) -> Spec:
    import altair as alt

    data: Datasets = {}
    rows = [
        {
            "batch": number,
            "low": round(100.0 * low, 2),
            "middle": round(100.0 * middle, 2),
            "high": round(100.0 * high, 2),
        }
        for number, (low, middle, high) in enumerate(steps)
    ]
    x = alt.X("batch:Q", title=msg("Finished batches"), axis=alt.Axis(tickMinStep=1, format="d", grid=False))
    title = msg("% of the usual value")
    scale = alt.Scale(zero=False, nice=True)
    base = on_rows(data, rows)
    layers = [
        base.encode(x=x, y=alt.Y("low:Q", title=title, scale=scale), y2="high:Q").mark_area(
            opacity=BAND, color=COLOURS[0]
        ),
        base.encode(x=x, y=alt.Y("middle:Q", title=title, scale=scale)).mark_line(
            color=COLOURS[0], strokeWidth=2, point={"color": COLOURS[0], "size": 30}
        ),
        on_rows(data, [{"at": 100.0}]).encode(y="at:Q").mark_rule(color=MUTED, strokeDash=[4, 3]),
    ]
    if truth is not None:
        layers.append(on_rows(data, [{"at": 100.0 * truth}]).encode(y="at:Q").mark_rule(color=INK, strokeWidth=1.5))
    chart = alt.layer(*layers).properties(**LEARNED_SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}
