"""Chart of a stock over time."""

from collections.abc import Sequence
from datetime import date

from drystow.days import day_text
from drystow.messages import msg
from drystow.reports.charts import COLOURS, INK, Datasets, Spec, configured, over_days
from drystow.reports.pictures import Picture
from drystow.reports.text import mass_text
from drystow.shown import DISPLAY, to_display

SIZE = {"width": 560, "height": 200}


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
    chart = alt.layer(line, dots).properties(**SIZE, background="white")
    return {**configured(chart).to_dict(validate=False), "datasets": data}
