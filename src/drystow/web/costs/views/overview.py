"""What batches cost, by batch and by month."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from drystow.web.costs.adapters import costs_of, finished_batches, sums_of, total_of, totals_by_month, years
from drystow.web.site.records import household

PER_PAGE = 50


def show_costs(request: HttpRequest) -> HttpResponse:
    """Show the costs of a year, or of all years."""
    house = household()
    wished = request.GET.get("year", "")
    known_years = years()
    year = int(wished) if wished.isdecimal() and int(wished) in known_years else None
    if year is None and wished != "all" and known_years:
        year = known_years[0]
    batches = finished_batches()
    if year is not None:
        batches = batches.filter(ended_at__year=year)
    page = Paginator(batches, PER_PAGE).get_page(request.GET.get("page"))
    shown = [costs_of(batch, house) for batch in page.object_list]
    sums = sums_of(batches)
    reasons = {
        "energy": _("no electricity known: write what the meter showed, or let the run be predicted"),
        "dried": _("nothing is packed yet and nothing was predicted"),
        "yield": _("more came out than went in: check the weights of food and packages"),
    }
    context = {
        "page": page,
        "kept": f"year={year or 'all'}&",
        "rows": [(row, reasons.get(row.missing, row.missing)) for row in shown],
        "months": totals_by_month(sums, house.tariff_per_kwh),
        "total": total_of(sums, house.tariff_per_kwh),
        "year": year,
        "years": known_years,
    }
    return render(request, "costs/costs.html", context)
