"""Charts of what was measured at a dryer: temperatures, pressure and power over the time of the day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from drystow.days import axis_format
from drystow.messages import Message, msg
from drystow.numerics import Array
from drystow.reports.charts import (
    COLOURS,
    DASHES,
    DAY_AXIS,
    ChartLine,
    Datasets,
    Spec,
    configured,
    on_rows,
    to_display_array,
)
from drystow.reports.pictures import Picture
from drystow.shown import DISPLAY, show

SIZE = {"width": 560, "height": 260}
TITLES = {
    "temperature": msg("Temperatures measured"),
    "pressure": msg("Pressure measured"),
    "power": msg("Power measured"),
}
SILENCE = 6.0  # a gap this many times the usual distance between points breaks the line
DAY = 86_400_000  # [ms]
HOUR_AXIS = axis_format("month_day_clock")


@dataclass(frozen=True)
class Measured:
    """What one sensor measured.

    name: for the key
    kind: temperature, pressure or power
    moments: clock of the kitchen [ms since 1970]
    values: in SI
    step: usual time between two readings [ms]
    """

    name: str
    kind: str
    moments: Array
    values: Array
    step: float


def readings_pictures(measured: Sequence[Measured], units: str = "us") -> tuple[Picture, ...]:
    """Return one picture for each kind of quantity that was measured.

    measured: sensors with at least one reading
    units: ``us`` or ``si``
    """
    pictures = []
    for kind, title in TITLES.items():
        rows = [one for one in measured if one.kind == kind and len(one.moments)]
        if rows:
            lines = tuple(_line(number, one, units) for number, one in enumerate(rows))
            spec = _chart(rows, lines, _axis(kind, DISPLAY[kind][units][0]), kind == "pressure")
            pictures.append(Picture("temperature", title, _words(rows, units), spec, lines))
    return tuple(pictures)


def _axis(kind: str, unit: str) -> Message:
    titles = {
        "temperature": msg("Temperature ({unit})", unit=unit),
        "pressure": msg("Pressure ({unit})", unit=unit),
        "power": msg("Power ({unit})", unit=unit),
    }
    return titles[kind]


def _line(number: int, one: Measured, units: str) -> ChartLine:
    colour, dash = COLOURS[number % len(COLOURS)], DASHES[number % len(DASHES)]
    return ChartLine(one.name, "", one.moments / 1000.0, to_display_array(one.values, one.kind, units), colour, dash)


def _words(rows: Sequence[Measured], units: str) -> Message:
    """Return lowest, highest and last value of every sensor."""
    told = [
        msg(
            "{name}: {low} to {high}, last {last}",
            name=one.name,
            low=show(float(one.values.min()), one.kind, units),
            high=show(float(one.values.max()), one.kind, units),
            last=show(float(one.values[-1]), one.kind, units),
        )
        for one in rows
    ]
    words = told[0]
    for one in told[1:]:
        words = msg("{one}; {other}", one=words, other=one)
    return msg("{words}.", words=words)


def _chart(rows: Sequence[Measured], lines: Sequence[ChartLine], axis: str, ratios: bool) -> Spec:
    import altair as alt

    data: Datasets = {}
    span = max(one.moments[-1] for one in rows) - min(one.moments[0] for one in rows)
    points = [
        point
        for number, (one, line) in enumerate(zip(rows, lines, strict=True))
        for point in _points(number, one, line, span, ratios)
    ]
    names = [str(number) for number in range(len(lines))]
    dots = [point for point in points if point["value"] is not None] if len(points) <= len(rows) * 3 else []
    x = alt.X(
        "utcyearmonthdatehoursminutesseconds(at):T",
        title=None,
        scale=alt.Scale(type="utc", nice=False),
        axis=alt.Axis(
            labelOverlap=True,
            labelSeparation=24,
            format=DAY_AXIS if span > 4 * DAY else HOUR_AXIS,
            tickCount=6,
        ),
    )
    y = alt.Y(
        "value:Q",
        title=axis,
        scale=alt.Scale(type="log" if ratios else "linear", zero=False),
        axis=alt.Axis(tickCount=6),
    )
    colour = alt.Color("line:N", scale=alt.Scale(domain=names, range=[line.colour for line in lines]), legend=None)
    dash = alt.StrokeDash("line:N", scale=alt.Scale(domain=names, range=[line.dash for line in lines]), legend=None)
    base = on_rows(data, points).mark_line(strokeWidth=1.6, interpolate="linear", clip=True)
    layers: list[Any] = [base.encode(x=x, y=y, color=colour, strokeDash=dash)]
    if dots:
        layers.append(on_rows(data, dots).mark_circle(size=36, opacity=1).encode(x=x, y=y, color=colour))
    chart = alt.layer(*layers).properties(**SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}


def _points(number: int, one: Measured, line: ChartLine, span: float, ratios: bool) -> list[dict[str, Any]]:
    """Return the points of a line; where the sensor was silent for long, the line breaks."""
    silence = SILENCE * max(one.step, span / max(len(one.moments), 1))
    points: list[dict[str, Any]] = []
    before = one.moments[0]
    for at, value in zip(one.moments, line.values, strict=True):
        if at - before > silence:
            points.append({"at": _iso((at + before) / 2), "value": None, "line": str(number)})
        before = at
        if not ratios or value > 0:
            points.append({"at": _iso(at), "value": round(float(value), 4), "line": str(number)})
    return points


def _iso(at: float) -> str:
    return datetime.fromtimestamp(at / 1000.0, UTC).isoformat(timespec="seconds").removesuffix("+00:00") + "Z"
