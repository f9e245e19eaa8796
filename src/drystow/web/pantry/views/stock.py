"""The stock over time: pictures, and the same numbers as a table."""

from datetime import date
from functools import lru_cache

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from drystow.reports.stock_chart import stock_pictures
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.records import household
from drystow.web.kit.wishes import wished_units
from drystow.web.pantry import stock_course

KEPT = 32


def spans() -> tuple[tuple[str, str], ...]:
    """Return the spans of time to choose from."""
    return (
        ("weeks", _("half a year, by week")),
        ("months", _("two years, by month")),
        ("years", _("ten years, by month")),
    )


def show_stock(request: HttpRequest) -> HttpResponse:
    """Show how much was in stock over time, of all food or of one."""
    span, food = request.GET.get("span", "months"), request.GET.get("food", "")[:200]
    if span not in stock_course.SPANS:
        span = "months"
    points = stock_course.course(timezone.localdate(), span, food)
    units = wished_units(request, household().units)
    rows = [(point.day, point.packages, point.mass_kg) for point in points]
    drawings = _drawings(tuple(rows), units, get_language() or "") if len(points) > 1 else ()
    context = {
        "points": points[::-1],
        "drawings": drawings,
        "span": span,
        "spans": spans(),
        "food": food,
        "foods": stock_course.foods(),
    }
    return render(request, "pantry/stock.html", context)


@lru_cache(maxsize=KEPT)
def _drawings(rows: tuple[tuple[date, int, float], ...], units: str, _language: str) -> tuple[Drawing, ...]:
    """Return the pictures of a stock, drawn once for each language."""
    return tuple(drawing_of(picture) for picture in stock_pictures(rows, units))
