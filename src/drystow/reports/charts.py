"""Charts of the food of a load, and what every chart is made of: one definition for page, report and export.

Colour is the second cue only: every line has its own dash pattern and carries the number of its tray, so that the
charts read in grey and for every eye.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drystow.days import MONTHS, axis_format
from drystow.figures import signs_of
from drystow.machine.result import LoadResult, TrayResult
from drystow.messages import EXAMPLE, Late, msg, told
from drystow.numerics import Array
from drystow.reports.text import plain
from drystow.shown import DISPLAY, to_display
from drystow.units import hours

MOST_POINTS = 300


@dataclass(frozen=True)
class ChartLine:
    """One line of a chart.

    name: in the legend
    mark: short sign on the line itself
    time: of the points [s]
    values: in the unit shown
    colour: of the line
    dash: lengths of strokes and gaps [px]
    """

    name: str
    mark: str
    time: Array
    values: Array
    colour: str
    dash: list[int]


def thin(time: Array, *series: Array) -> tuple[Array, ...]:
    """Return time and series with at most 300 of their points, always with the first and the last."""
    count = len(time)
    if count <= MOST_POINTS:
        return (time, *series)
    keep = np.unique(np.linspace(0, count - 1, MOST_POINTS).round().astype(int))
    return tuple(values[keep] for values in (time, *series))


def place_signs(lines: Sequence[ChartLine]) -> list[dict[str, Any]]:
    """Return where each line carries its sign: far from the other lines and from the signs already placed."""
    named = [line for line in lines if line.mark]
    if not named:
        return []
    low = min(float(np.min(line.values)) for line in lines)
    height = max(max(float(np.max(line.values)) for line in lines) - low, 1e-9)
    length = max(float(line.time[-1]) for line in lines) or 1.0
    taken: list[tuple[float, float]] = []
    signs = []
    for line in named:
        places = np.unique(np.linspace(0.04, 0.96, 60) * (len(line.time) - 1)).astype(int)
        times = line.time[places]
        apart = np.full(len(places), 0.10)
        for other in lines:
            if other is not line:
                gap = np.abs(np.interp(times, other.time, other.values) - line.values[places]) / height
                apart = np.minimum(apart, gap)
        x, y = times / length, (line.values[places] - low) / height
        free = np.full(len(places), 0.3)
        for at, level in taken:
            free = np.minimum(free, np.hypot(x - at, y - level))
        best = int(np.argmax(2 * apart + free))
        taken.append((float(x[best]), float(y[best])))
        signs.append(
            {"time_h": hours(float(times[best])), "value": float(line.values[places[best]]), "sign": line.mark}
        )
    return signs


Spec = dict[str, Any]
Datasets = dict[str, list[Spec]]

WIDTH, HEIGHT = 560, 260
LABEL_HEIGHT = 20  # px that the label of a limit needs, also on a chart drawn lower than its definition
COLOURS = ("#12395b", "#d0661f", "#5b2a6e", "#2f9485", "#7a5a00", "#4f8fd0", "#8c1d3f", "#808080")
"""Dark and light, warm and cool in turn, so that neighbours differ in grey as well."""
SOLID = [2000, 0]  # one stroke longer than any line
DASHES = (SOLID, [7, 3], [2, 2], [10, 3, 2, 3], [5, 2], [1, 3], [12, 4], [4, 2, 1, 2])
INK, MUTED, GRID = "#222222", "#6b6b6b", "#e4e4e4"
DAY_AXIS = axis_format()
"""How an axis of days is written, as everywhere."""
ICE_GONE, DRY = msg("ice gone"), msg("dry")


def drying_chart(result: LoadResult) -> Spec:
    """Return the drying curve: water left on every tray against time [% of the water at the start]."""
    trays = [(number, tray) for number, tray in enumerate(result.trays) if len(tray.moisture) == len(result.time)]
    lines = [_tray_line(result, number, _water_left(tray)) for number, tray in trays]
    marks = [
        {"time_h": hours(at), "value": float(np.interp(at, result.time, _water_left(tray))), "what": what}
        for _, tray in trays
        for at, what in ((tray.primary_end, ICE_GONE), (tray.dry_end, DRY))
        if at is not None
    ]
    return line_chart(
        lines, msg("Water left (% of starting water)"), msg("Water left over time"), marks=marks, from_zero=True
    )


def _water_left(tray: TrayResult) -> Array:
    moisture = np.clip(tray.moisture, 0.0, 0.999)
    left: Array = 100.0 * tray.solids * moisture / (1.0 - moisture) / tray.water_start
    return left


def temperature_chart(result: LoadResult, units: str = "us") -> Spec:
    """Return food and shelf temperatures, with each tray's limit for as long as it has ice."""
    unit = DISPLAY["temperature"][units][0]
    lines = [
        _tray_line(result, number, to_display_array(tray.front_temperature, "temperature", units))
        for number, tray in enumerate(result.trays)
        if len(tray.front_temperature) == len(result.time)
    ]
    shelf = to_display_array(result.shelf_temperature, "temperature", units)
    lines.append(ChartLine(msg("S Shelf"), "S", result.time, shelf, INK, SOLID))
    rules = [
        {
            "start_h": hours(result.drying_start),
            "end_h": hours(tray.primary_end if tray.primary_end is not None else result.total_time),
            "value": to_display(tray.limit, "temperature", units),
            "name": _legend(result, number),
            "trays": [tray.tray],
        }
        for number, tray in enumerate(result.trays)
    ]
    axis = msg("Temperature ({unit})", unit=unit)
    return line_chart(lines, axis, msg("Ice temperatures and limits"), rules=rules)


def chart_svg(spec: Spec, font: str = "Libertinus Serif, serif", translate: Callable[[str], str] = str) -> str:
    """Return a chart as SVG, drawn without any network.

    spec: of the chart
    font: of all its text
    translate: gives a text of the chart in the reader's language
    """
    import vl_convert

    signs = signs_of(translate(EXAMPLE))
    months = [told(month, translate) for month in MONTHS]
    svg: str = vl_convert.vegalite_to_svg(
        _in_words({**spec, "config": {**spec.get("config", {}), "font": font}}, translate),
        vl_version="6.4",
        allowed_base_urls=[],
        format_locale={"decimal": signs.decimal, "thousands": signs.thousands, "grouping": [3], "currency": ["", ""]},
        time_format_locale={**_CLOCK, "months": months, "shortMonths": months},
    )
    return svg


_CLOCK = {"dateTime": "", "date": "", "time": "", "periods": ["am", "pm"], "days": [""] * 7, "shortDays": [""] * 7}
"""What charts do not write of a day, which the drawing wants to know."""


def bare_chart(spec: Spec) -> Spec:
    """Return a chart without title and legends, for a page that writes its own."""
    return {key: value if key == "config" else _without_legends(value) for key, value in spec.items() if key != "title"}


def _without_legends(part: Any) -> Any:
    if isinstance(part, list):
        return [_without_legends(item) for item in part]
    if isinstance(part, dict):
        return {key: None if key == "legend" else _without_legends(value) for key, value in part.items()}
    return part


def _in_words(part: Any, translate: Callable[[str], str]) -> Any:
    """Return a specification with every sentence in the reader's language."""
    if isinstance(part, Late):
        return told(part, translate)
    if isinstance(part, list):
        return [_in_words(item, translate) for item in part]
    if isinstance(part, dict):
        return {key: _in_words(value, translate) for key, value in part.items()}
    return part


def to_display_array(values: Array, kind: str, units: str) -> Array:
    """Return an array of SI values in the display unit."""
    _, factor, offset, _ = DISPLAY[kind][units]
    shown: Array = np.asarray(values, dtype=float) * factor + offset
    return shown


def _legend(result: LoadResult, number: int) -> str:
    tray = result.trays[number]
    return f"{tray.tray} {plain(tray.name, 40)}"


def _tray_line(result: LoadResult, number: int, values: Array) -> ChartLine:
    colour, dash = COLOURS[number % len(COLOURS)], DASHES[number % len(DASHES)]
    return ChartLine(_legend(result, number), str(result.trays[number].tray), result.time, values, colour, dash)


def line_chart(
    lines: Sequence[ChartLine],
    axis: str,
    title: str,
    *,
    rules: Sequence[Spec] = (),
    marks: Sequence[Spec] = (),
    from_zero: bool = False,
    log: bool = False,
    height: int = HEIGHT,
) -> Spec:
    """Return a chart of lines over the hours.

    lines: with their names, signs, colours and dashes
    axis: what is measured, with its unit
    title: of the chart
    rules: level lines with start_h, end_h, value, name of their line, and label or trays
    marks: points with time_h, value and what
    from_zero: the axis begins at zero
    log: equal ratios are equally high
    height: of the plot [px]
    """
    import altair as alt

    lines = [line for line in lines if len(line.time)]
    points = [
        {"time_h": round(hours(float(at)), 4), "value": round(float(value), 4), "name": line.name}
        for line in lines
        for at, value in zip(*thin(line.time, line.values), strict=True)
        if np.isfinite(value)
    ]
    x = alt.X("time_h:Q", title=msg("Hours since loading"), scale=alt.Scale(nice=False), axis=alt.Axis(tickMinStep=1))
    y = alt.Y("value:Q", title=axis, scale=alt.Scale(type="log" if log else "linear", zero=not log and from_zero))
    names = [line.name for line in lines]
    colours = alt.Scale(domain=names, range=[line.colour for line in lines])
    legend = (
        alt.Legend(title=None, orient="bottom", columns=3, symbolType="stroke", symbolSize=700, labelLimit=240)
        if len(lines) > 1
        else None
    )
    data: Datasets = {}
    layers: list[Any] = [
        on_rows(data, points)
        .mark_line(strokeWidth=2, interpolate="linear")
        .encode(
            x=x,
            y=y,
            color=alt.Color("name:N", scale=colours, legend=legend),
            strokeDash=alt.StrokeDash(
                "name:N", scale=alt.Scale(domain=names, range=[line.dash for line in lines]), legend=legend
            ),
        )
    ]
    if rules:
        layers += _rule_layers(data, rules, colours, _close(lines, height))
    if marks:
        layers.append(_mark_layer(data, marks, legend and _plain_legend()))
    signs = place_signs(lines)
    if signs:
        on_line = on_rows(data, signs).encode(x="time_h:Q", y="value:Q")
        layers.append(on_line.mark_circle(size=200, color="white", opacity=1))
        layers.append(on_line.mark_text(fontWeight="bold", fontSize=12, color=INK).encode(text="sign:N"))
    chart = alt.layer(*layers).properties(title=title, width=WIDTH, height=height, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}


def _mark_layer(data: Datasets, marks: Sequence[Spec], legend: Any) -> Any:
    import altair as alt

    shapes = alt.Scale(domain=[ICE_GONE, DRY], range=["circle", "square"])
    points = on_rows(data, marks).mark_point(filled=True, size=60, color=INK, opacity=1)
    return points.encode(x="time_h:Q", y="value:Q", shape=alt.Shape("what:N", scale=shapes, legend=legend))


def on_rows(data: Datasets, rows: Sequence[Spec]) -> Any:
    """Return an empty chart on its own rows, which join the specification at the end: checking them takes seconds."""
    import altair

    alt: Any = altair
    name = f"rows{len(data)}"
    data[name] = list(rows)
    return alt.Chart(alt.NamedData(name=name))


def over_days(data: Datasets, rows: Sequence[Spec], axis: str) -> Any:
    """Return an empty chart of values, from zero on, over the days.

    data: of the specification, takes the rows
    rows: with day and value
    axis: what is measured, with its unit
    """
    import altair as alt

    return on_rows(data, rows).encode(
        x=alt.X(
            "utcyearmonthdate(day):T",
            title=None,
            scale=alt.Scale(type="utc"),
            axis=alt.Axis(labelOverlap=True, labelSeparation=24, format=DAY_AXIS),
        ),
        y=alt.Y("value:Q", title=axis, scale=alt.Scale(zero=True), axis=alt.Axis(tickCount=5)),
    )


def _plain_legend() -> Any:
    import altair as alt

    return alt.Legend(title=None, orient="top-right", symbolFillColor=INK, symbolStrokeColor=INK)


def _close(lines: Sequence[ChartLine], height: int) -> float:
    """Return how far apart two labels must be on the axis so as not to touch."""
    values = np.concatenate([line.values for line in lines]) if lines else np.zeros(1)
    return float(np.ptp(values)) * LABEL_HEIGHT / height


def _rule_layers(data: Datasets, rules: Sequence[Spec], colours: Any, close: float) -> list[Any]:
    """Return one thin line per limit, with its label; limits closer than `close` share one."""
    import altair as alt

    labels: list[Spec] = []
    for rule in sorted(rules, key=lambda rule: rule["value"]):
        label = {**rule, "middle_h": (rule["start_h"] + rule["end_h"]) / 2}
        if labels and rule["value"] - labels[-1]["value"] < close:
            known = labels.pop()
            label |= {"trays": sorted([*known["trays"], *rule["trays"]]), "middle_h": known["middle_h"]}
        labels.append(label)
    for label in labels:
        label.setdefault("label", msg("limit {trays}", trays=", ".join(map(str, label.get("trays", ())))))
    base = on_rows(data, rules).encode(
        x="start_h:Q", x2="end_h:Q", y="value:Q", color=alt.Color("name:N", scale=colours, legend=None)
    )
    text = on_rows(data, labels).encode(x="middle_h:Q", y="value:Q", text="label:N")
    return [
        base.mark_rule(strokeWidth=1.2, strokeDash=[1, 2]),
        text.mark_text(baseline="bottom", dy=-2, fontSize=11, color=INK),
    ]


def configured(chart: Any) -> Any:
    """Return a chart with the fonts, greys and sizes of all charts."""
    return (
        chart.configure(font="system-ui, sans-serif")
        .configure_view(stroke=None)
        .configure_axis(
            gridColor=GRID, domainColor=MUTED, tickColor=MUTED, labelColor=INK, titleColor=INK,
            titleFontWeight="normal", labelFontSize=11, titleFontSize=12,
        )
        .configure_title(anchor="start", fontSize=14, fontWeight=600, color=INK, offset=10)
        .configure_legend(labelFontSize=12, labelColor=INK)
    )  # fmt: skip
