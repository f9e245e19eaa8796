"""The stock as a list to print, on screen and as a PDF."""

from collections.abc import Iterable, Sequence
from itertools import groupby

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from drystow.reports.pantry_list import ListGroup, ListRow, pantry_list_pdf
from drystow.web.kit.reader import reader
from drystow.web.kit.records import household
from drystow.web.kit.wishes import wished_units
from drystow.web.pantry import stock, stock_course
from drystow.web.pantry.models import Package

MOST = 2000
PER_PAGE = 100


def show_list(request: HttpRequest) -> HttpResponse:
    """Show the stock by place, ready to print."""
    page = Paginator(_stock(), PER_PAGE).get_page(request.GET.get("page"))
    context = {"groups": _groups(stock.read(page.object_list)), "page": page, "kept": "", "today": timezone.localdate()}
    return render(request, "pantry/list.html", context)


def list_pdf(request: HttpRequest) -> HttpResponse:
    """Send the stock by place as a PDF."""
    house, today = household(), timezone.localdate()
    pdf = pantry_list_pdf(
        house.name,
        _groups(stock.read(_stock()[:MOST])),
        today=today,
        course=[(point.day, point.packages, point.mass_kg) for point in stock_course.course(today)],
        units=wished_units(request, house.units),
        paper=house.paper,
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
                    opened=package.state == "open",
                    raw_animal=package.raw_animal,
                )
                for package in packages
            ),
        )
        for place, packages in groupby(rows, key=lambda package: package.place.name)
    ]
