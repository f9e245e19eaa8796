"""Pictures of weeks: what is picked, dried and lost in a season, how far it may differ; a stock over time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from drystow.days import day_text
from drystow.messages import msg
from drystow.reports.charts import (
    COLOURS,
    DAY_AXIS,
    INK,
    SOLID,
    ChartLine,
    Datasets,
    Spec,
    configured,
    on_rows,
    over_days,
)
from drystow.reports.pictures import Picture
from drystow.reports.text import mass_text
from drystow.shown import DISPLAY, to_display

SIZE = {"width": 560, "height": 220}
KEPT, LOST = COLOURS[5], COLOURS[1]


@dataclass(frozen=True)
class WeekShown:
    """One week over the seasons, on average.

    begin: its first day
    came: food that is picked [kg]
    low: picked in a small year, one of ten [kg]
    high: picked in a large year, one of ten [kg]
    lost: of what is picked, never dried [kg]
    loaded: food that goes into the dryers [kg]
    """

    begin: date
    came: float
    low: float
    high: float
    lost: float
    loaded: float


def season_picture(weeks: Sequence[WeekShown], units: str = "us") -> Picture:
    """Return the picture of one choice of dryers.

    weeks: in their order
    units: ``us`` or ``si``
    """
    most = max(weeks, key=lambda week: week.came)
    worst = max(weeks, key=lambda week: week.lost)
    words = msg(
        "Food by the week, averaged over the seasons. Most is picked in the week from {peak}: "
        "{came}, and in one year of ten over {high}. Lost in all: {lost}.",
        peak=day_text(most.begin),
        came=mass_text(most.came, units),
        high=mass_text(most.high, units),
        lost=mass_text(sum(week.lost for week in weeks), units),
    )
    if worst.lost > 0.0:
        words = msg(
            "{words} Most of it in the week from {day}: {mass}.",
            words=words,
            day=day_text(worst.begin),
            mass=mass_text(worst.lost, units),
        )
    return Picture("season", msg("Week by week"), words, _spec(weeks, units), _keys())


def _keys() -> tuple[ChartLine, ...]:
    none = np.empty(0)
    names = (
        (msg("picked and dried"), KEPT, SOLID),
        (msg("picked and lost"), LOST, SOLID),
        (msg("loaded into the dryers"), INK, [7, 3]),
        (msg("bar: picked, in 8 years of 10"), INK, SOLID),
    )
    return tuple(ChartLine(name, "", none, none, colour, dash) for name, colour, dash in names)


def _spec(weeks: Sequence[WeekShown], units: str) -> Spec:
    import altair as alt

    data: Datasets = {}
    bars, lines = [], []
    for week in weeks:
        came, lost, low, high, loaded = (
            round(to_display(mass, "mass", units), 4)
            for mass in (week.came, week.lost, week.low, week.high, week.loaded)
        )
        place = {"day": week.begin.isoformat(), "end": (week.begin + timedelta(days=6)).isoformat()}
        bars.append({**place, "low": 0.0, "high": max(came - lost, 0.0), "what": "kept"})
        bars.append({**place, "low": max(came - lost, 0.0), "high": came, "what": "lost"})
        middle = {"day": (week.begin + timedelta(days=3)).isoformat()}
        lines.append({**middle, "value": loaded, "low": low, "high": high})
    x = alt.X(
        "utcyearmonthdate(day):T",
        title=None,
        scale=alt.Scale(type="utc"),
        axis=alt.Axis(labelOverlap=True, labelSeparation=24, format=DAY_AXIS),
    )
    axis = msg("Per week ({unit})", unit=DISPLAY["mass"][units][0])
    boxes = (
        on_rows(data, bars)
        .mark_bar(opacity=1)
        .encode(
            x=x,
            x2="utcyearmonthdate(end):T",
            y=alt.Y("low:Q", title=axis, scale=alt.Scale(zero=True), axis=alt.Axis(tickCount=5)),
            y2="high:Q",
            color=alt.Color("what:N", scale=alt.Scale(domain=["kept", "lost"], range=[KEPT, LOST]), legend=None),
        )
    )
    base = on_rows(data, lines).encode(x=x)
    spread = base.mark_rule(strokeWidth=1.5, color=INK).encode(y=alt.Y("low:Q", title=axis), y2="high:Q")
    loaded_line = base.mark_line(strokeWidth=2, color=INK, strokeDash=[7, 3]).encode(y=alt.Y("value:Q", title=axis))
    chart = alt.layer(boxes, spread, loaded_line).properties(**SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}


STOCK_SIZE = {"width": 560, "height": 200}


def stock_pictures(points: Sequence[tuple[date, int, float]], units: str = "us") -> tuple[Picture, ...]:
    """Return the pictures of a stock: food by mass, and packages.

    points: day, packages and mass of food [kg], in order of time
    units: ``us`` or ``si``
    """
    unit = DISPLAY["mass"][units][0]
    masses = [(day, to_display(mass, "mass", units)) for day, _, mass in points]
    counts = [(day, float(count)) for day, count, _ in points]
    (first, first_count, first_mass), (_, last_count, last_mass) = points[0], points[-1]
    most = max(points, key=lambda point: point[2])
    words = msg(
        "Dried food in stock: {first} on {begin}, up to {most} on {peak}, {last} now.",
        first=mass_text(first_mass, units), begin=day_text(first), most=mass_text(most[2], units),
        peak=day_text(most[0]), last=mass_text(last_mass, units),
    )  # fmt: skip
    packages = msg(
        "Packages in stock: {first} on {begin}, {last} now.",
        first=first_count, begin=day_text(first), last=last_count,
    )  # fmt: skip
    return (
        Picture("stock", msg("Dried food in stock"), words, _steps(masses, msg("Dried food ({unit})", unit=unit))),
        Picture("stock", msg("Packages in stock"), packages, _steps(counts, msg("Packages"))),
    )


def _steps(points: Sequence[tuple[date, float]], axis: str) -> Spec:
    import altair as alt

    data: Datasets = {}
    rows = [{"day": day.isoformat(), "value": round(value, 4)} for day, value in points]
    base = over_days(data, rows, axis)
    line = base.mark_line(strokeWidth=2, color=COLOURS[0])
    dots = base.mark_circle(size=28, color=INK, opacity=1)
    chart = alt.layer(line, dots).properties(**STOCK_SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}
