"""The pictures of a load, with what a person who does not see them should know: the same on page and paper."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drystow.machine.result import LoadResult
from drystow.messages import Translate, msg, told
from drystow.reports.charts import (
    COLOURS,
    DASHES,
    ChartLine,
    Spec,
    bare_chart,
    chart_svg,
    drying_chart,
    line_chart,
    temperature_chart,
)
from drystow.reports.machine_charts import energy_chart, energy_lines, pressure_chart, trap_chart, vapour_chart
from drystow.reports.text import mass_text
from drystow.shown import DISPLAY, show
from drystow.units import hours

Points = Sequence[tuple[float, float]]
PROGRAM = "program"


@dataclass(frozen=True)
class Picture:
    """One chart with its words.

    name: drying, temperature, pressure, vapour, trap, energy or stock
    title: heading
    words: what a person who does not see it should know
    spec: of the chart
    lines: those that need a key of their own
    """

    name: str
    title: str
    words: str
    spec: Spec
    lines: tuple[ChartLine, ...] = ()


def printed(picture: Picture, size: Mapping[str, int], translate: Translate) -> dict[str, Any]:
    """Return a picture for a template: its heading, its drawing and its words in the reader's language.

    picture: the picture
    size: width and height [px]
    translate: to the reader's language
    """
    return {
        "title": told(picture.title, translate),
        "svg": chart_svg(bare_chart(picture.spec) | dict(size), translate=translate),
        "words": told(picture.words, translate),
    }


def load_pictures(result: LoadResult, units: str, names: Sequence[str] = ()) -> tuple[Picture, ...]:
    """Return the pictures of a load; those of the machine only when it was simulated.

    result: of the simulated load
    units: ``us`` or ``si``
    names: which ones; all when empty
    """
    if len(result.time) < 2:
        return ()
    makers = {"drying": _drying, "temperature": _temperature}
    if len(result.energy.time):
        makers |= {"pressure": _pressure, "vapour": _vapour, "trap": _trap, "energy": _energy}
    return tuple(make(result, units) for name, make in makers.items() if not names or name in names)


def _drying(result: LoadResult, _units: str) -> Picture:
    words = msg(
        "Water left on each tray over the hours, in percent of the start. Steep while ice turns "
        "to vapor, flat while the last moisture leaves."
    )
    return Picture("drying", msg("Water left over time"), words, drying_chart(result))


def _temperature(result: LoadResult, units: str) -> Picture:
    words = msg(
        "Temperature of the ice, then of the dried food, on each tray, and of the shelf. Dotted "
        "level lines: each tray's limit while it has ice."
    )
    return Picture("temperature", msg("How warm it gets"), words, temperature_chart(result, units))


def _pressure(result: LoadResult, units: str) -> Picture:
    values = {
        "highest": show(result.machine.peak_pressure, "pressure", units),
        "end": show(float(result.chamber_pressure[-1]), "pressure", units),
    }
    words = msg(
        "Chamber pressure over the hours (logarithmic scale): at most {highest}, {end} at the end.",
        **values,
    )
    limit = result.machine.pressure_limit
    if limit > 0.0:
        words = msg(
            "{pressure} Dotted level line: above {limit} the heaters pause.",
            pressure=words,
            limit=show(limit, "pressure", units),
        )
    return Picture("pressure", msg("Pressure in the chamber"), words, pressure_chart(result, units))


def _vapour(result: LoadResult, units: str) -> Picture:
    words = msg(
        "Vapor leaving the food for the trap: at most {most}, {at:.0f} hours after loading. It "
        "falls as the ice runs out.",
        most=show(result.machine.peak_vapour, "mass flow", units),
        at=hours(float(result.time[int(np.argmax(result.vapour))])),
    )
    return Picture("vapour", msg("Vapor moving to the trap"), words, vapour_chart(result, units))


def _trap(result: LoadResult, units: str) -> Picture:
    words = msg(
        "Ice on the trap over the hours: {ice} at the end. Dotted level line: the {capacity} it can hold.",
        ice=mass_text(result.machine.trap_ice, units),
        capacity=mass_text(result.machine.trap_capacity, units),
    )
    return Picture("trap", msg("Ice on the trap"), words, trap_chart(result, units))


def _energy(result: LoadResult, units: str) -> Picture:
    machine = result.machine
    words = msg(
        "Electricity used so far. At the end {all}: compressor {cold}, vacuum pump {pump}, shelf heaters {heat}.",
        all=show(machine.energy, "energy", units),
        cold=show(machine.compressor_energy, "energy", units),
        pump=show(machine.pump_energy, "energy", units),
        heat=show(machine.heater_energy, "energy", units),
    )
    lines = tuple(energy_lines(result))
    return Picture("energy", msg("Electricity"), words, energy_chart(result), lines)


def limit_picture(found: Points, own: Points, units: str) -> Picture | None:
    """Return the picture of the warmest ice front against its limit; None when neither program dries anything.

    found: hours and distance over the limit, negative below it [K], with the program found
    own: the same with the load's own program
    units: ``us`` or ``si``
    """
    unit, factor, _offset, _decimals = DISPLAY["temperature difference"][units]
    ways = [
        (msg("A Program found"), "A", found, COLOURS[0], list(DASHES[0])),
        (msg("B Your program"), "B", own, COLOURS[1], list(DASHES[1])),
    ]
    lines = [
        ChartLine(
            name,
            sign,
            3600.0 * np.array([at for at, _value in points]),
            factor * np.array([value for _at, value in points]),
            colour,
            dash,
        )
        for name, sign, points, colour, dash in ways
        if len(points) > 1
    ]
    if not lines:
        return None
    last = max(float(line.time[-1]) for line in lines) / 3600.0
    first = min(float(line.time[0]) for line in lines) / 3600.0
    rule = {"start_h": first, "end_h": last, "value": 0.0, "name": lines[0].name, "label": msg("limit")}
    spec = line_chart(lines, msg("Ice over its limit ({unit})", unit=unit), msg("The warmest ice"), rules=[rule])
    return Picture(PROGRAM, msg("The warmest ice and its limit"), _words(found, own, units), spec, tuple(lines))


def _words(found: Points, own: Points, units: str) -> str:
    words = msg(
        "How far the warmest ice of all trays is below (negative) or above its limit in a "
        "typical run, while there is ice."
    )
    if len(found) > 1:
        words = msg("{before} Program found: {how}.", before=words, how=_how(found, units))
    if len(own) > 1:
        words = msg("{before} Your program: {how}.", before=words, how=_how(own, units))
    return words


def _how(points: Points, units: str) -> str:
    most = max(value for _at, value in points)
    told = {"much": show(abs(most), "temperature difference", units), "hours": points[-1][0]}
    if most > 0.0:
        return msg("up to {much} above the limit, ice until hour {hours:.1f}", **told)
    return msg("at least {much} below the limit, ice until hour {hours:.1f}", **told)
