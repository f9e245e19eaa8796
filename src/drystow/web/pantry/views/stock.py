"""The stock over time, as pictures and as a table; and as a list to print, on screen and as a PDF."""

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from drystow.keeping.limits import NOT_KNOWN
from drystow.numerics.remembered import remembered
from drystow.reports.pantry_list import ListGroup, ListRow, pantry_list_pdf
from drystow.reports.season_chart import stock_pictures
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.reader import reader, wished_units
from drystow.web.pantry import stock, stock_course
from drystow.web.pantry.models import Package

KEPT = 32


def spans() -> tuple[tuple[str, str], ...]:
    """Return the spans of time to choose from."""
    return (
        ("weeks", _("half a year, by week")),
        ("months", _("two years, by month")),
        ("years", _("ten years, by month")),
    )


@right(reads="viewer", forms="helper")
def show_stock(request: HttpRequest) -> HttpResponse:
    """Show how much was in stock over time, of all food or of one."""
    span, food = request.GET.get("span", "months"), request.GET.get("food", "")[:200]
    if span not in stock_course.SPANS:
        span = "months"
    points = stock_course.course(timezone.localdate(), span, food)
    units = wished_units(request, records.kitchen().units)
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


@remembered(KEPT)
def _drawings(rows: tuple[tuple[date, int, float], ...], units: str, _language: str) -> tuple[Drawing, ...]:
    """Return the pictures of a stock, drawn once for each language."""
    return tuple(drawing_of(picture) for picture in stock_pictures(rows, units))


MOST = 2000
PER_PAGE = 100


@right(reads="viewer", forms="helper")
def show_list(request: HttpRequest) -> HttpResponse:
    """Show the stock by place, ready to print."""
    page = Paginator(_stock(), PER_PAGE).get_page(request.GET.get("page"))
    context = {"groups": _groups(stock.read(page.object_list)), "page": page, "kept": "", "today": timezone.localdate()}
    return render(request, "pantry/list.html", context)


@right(reads="viewer")
def list_pdf(request: HttpRequest) -> HttpResponse:
    """Send the stock by place as a PDF."""
    kitchen, today = records.kitchen(), timezone.localdate()
    pdf = pantry_list_pdf(
        kitchen.name,
        _groups(stock.read(_stock()[:MOST])),
        today=today,
        course=[(point.day, point.packages, point.mass_kg) for point in stock_course.course(today)],
        units=wished_units(request, kitchen.units),
        paper=kitchen.paper,
        translate=reader(),
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'attachment; filename="pantry-{today.isoformat()}.pdf"'
    return response


def _stock() -> Sequence[int]:
    return stock.ByPlace(stock.in_state(stock.kept(), "stock"))


def _groups(rows: Iterable[Package]) -> list[ListGroup]:
    return [
        ListGroup(
            place,
            tuple(
                ListRow(
                    food=package.name,
                    lot=package.lot,
                    code=package.code,
                    left=package.left_mass_kg,
                    packed_on=package.packed_on,
                    best_before=package.best_before,
                    check=package.basis == NOT_KNOWN,
                    opened=package.state == "open",
                    raw_animal=package.raw_animal,
                )
                for package in packages
            ),
        )
        for place, packages in groupby(rows, key=lambda package: package.place.name)
    ]
