"""Picture of two shelf programs: how far the warmest ice front stays below its limit, hour by hour."""

from collections.abc import Sequence

import numpy as np

from drystow.messages import msg
from drystow.reports.chart_lines import ChartLine
from drystow.reports.charts import COLOURS, DASHES, line_chart
from drystow.reports.pictures import Picture
from drystow.shown import DISPLAY, show

Points = Sequence[tuple[float, float]]
NAME = "program"


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
    return Picture(NAME, msg("The warmest ice and its limit"), _words(found, own, units), spec, tuple(lines))


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
