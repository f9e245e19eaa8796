"""Pictures of dryness, of what was learned and of what was measured: water left on a tray, ranges batch by batch."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drystow.days import day_text
from drystow.messages import Message, msg
from drystow.reports.charts import (
    COLOURS,
    INK,
    MUTED,
    Datasets,
    Spec,
    configured,
    on_rows,
    over_days,
)
from drystow.reports.pictures import Picture

COLUMNS = 24  # of dots
SIZE = {"width": 560, "height": 200}
ROOM = 1.5  # of the axis beyond the wished moisture, at least [-]
DOT = 90  # px2


def moisture_picture(moistures: Sequence[float], target: float) -> Picture:
    """Return the picture of the water that may be left on a tray.

    moistures: equally likely ones, the driest first, wet basis [-]
    target: wished one, wet basis [-]
    """
    below = sum(value <= target for value in moistures)
    words = msg(
        "Each dot is one of {count} equally likely results, from {low:.1%} to {high:.1%} "
        "moisture. {below} of them meet the {target:.1%} target: filled dots left of the line.",
        count=len(moistures), low=moistures[0], high=moistures[-1], below=below, target=target,
    )  # fmt: skip
    return Picture("moisture", msg("How much moisture may be left"), words, _dots(moistures, target))


def _dots(moistures: Sequence[float], target: float) -> Spec:
    import altair as alt

    highest = max(moistures[-1], ROOM * target)
    width = highest / COLUMNS
    heights: Counter[int] = Counter()
    rows = []
    for value in moistures:
        column, dry = min(int(value / width), COLUMNS - 1), value <= target
        heights[column] += 1
        rows.append({"moisture": round(100.0 * (column + 0.5) * width, 4), "place": heights[column], "dry": dry})
    data: Datasets = {}
    top = max(6, max(heights.values()) + 1)
    x = alt.X(
        "moisture:Q",
        title=msg("Moisture left (% of weight)"),
        scale=alt.Scale(domain=[0.0, round(100.0 * highest, 3)], nice=False),
        axis=alt.Axis(tickCount=6),
    )
    y = alt.Y("place:Q", axis=None, scale=alt.Scale(domain=[0, top]))
    filled = on_rows(data, [row for row in rows if row["dry"]]).encode(x=x, y=y)
    rings = on_rows(data, [row for row in rows if not row["dry"]]).encode(x=x, y=y)
    wished = on_rows(data, [{"moisture": 100.0 * target, "place": top, "label": _label(target)}])
    chart = alt.layer(
        wished.encode(x=x).mark_rule(color=INK, strokeWidth=1.5, strokeDash=[4, 3]),
        wished.encode(x=x, y=y, text="label:N").mark_text(align="left", dx=6, dy=8, fontSize=12, color=INK),
        filled.mark_point(filled=True, opacity=1, size=DOT, color=INK),
        rings.mark_point(filled=False, opacity=1, size=DOT, strokeWidth=2, color=COLOURS[1]),
    ).properties(**SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}


def _label(target: float) -> Message:
    return msg("target: {target:.1%}", target=target)


@dataclass(frozen=True, order=True)
class TrendPoint:
    """One measurement, in the unit that is shown.

    day: of the test
    low: one in twenty lies below
    middle: most likely
    high: one in twenty lies above
    """

    day: date
    low: float
    middle: float
    high: float


def trend_picture(name: str, unit: str, points: Sequence[TrendPoint]) -> Picture:
    """Return the picture of a number over time.

    name: what is measured
    unit: of the points
    points: at least one, in order of time
    """
    first, last = points[0], points[-1]
    words = msg(
        "{name}: {first:.3g} {unit} on {begin}, {last:.3g} {unit} on {end}.",
        name=name, first=first.middle, begin=day_text(first.day), last=last.middle, end=day_text(last.day),
        unit=unit,
    )  # fmt: skip
    return Picture("trend", name, words, _chart(points, msg("{name} ({unit})", name=name, unit=unit)))


def _chart(points: Sequence[TrendPoint], axis: str) -> Spec:
    import altair as alt

    data: Datasets = {}
    rows = [{"day": one.day.isoformat(), "low": one.low, "value": one.middle, "high": one.high} for one in points]
    base = over_days(data, rows, axis)
    line = base.mark_line(strokeWidth=2, color=COLOURS[0])
    ranges = base.mark_rule(strokeWidth=1.5, color=INK).encode(y=alt.Y("low:Q", title=axis), y2="high:Q")
    dots = base.mark_circle(size=40, color=INK, opacity=1)
    chart = alt.layer(line, ranges, dots).properties(**SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}


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
    return Picture("learning", what, words, _learned_chart(steps, truth))


def _learned_chart(steps: Sequence[tuple[float, float, float]], truth: float | None) -> Spec:
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
