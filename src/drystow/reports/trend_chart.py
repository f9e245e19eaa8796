"""Chart of a measured number over the tests of a machine, each with its range."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drystow.days import day_text
from drystow.messages import msg
from drystow.reports.charts import COLOURS, INK, Datasets, Spec, configured, over_days
from drystow.reports.pictures import Picture

SIZE = {"width": 560, "height": 200}


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
