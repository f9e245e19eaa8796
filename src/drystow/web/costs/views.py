"""What batches cost, by batch and by month."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.numerals import whole_in
from drystow.web.accounts.rights import right
from drystow.web.costs.adapters import costs_of, months, sum_of, total_of
from drystow.web.costs.models import BatchSums
from drystow.web.costs.sums import are_current
from drystow.web.kit.records import kitchen

PER_PAGE = 50
PATIENCE = 1.0
"""For so long the page waits for the sums of what was changed a moment ago [s]. Source: drystow-default."""
NOT_SHOWN = ("batch__prediction", "batch__program", "batch__extra", "batch__notes")


@right(reads="viewer")
def show_costs(request: HttpRequest) -> HttpResponse:
    """Show the costs of a year, or of all years."""
    current = are_current(PATIENCE)
    tariff, wished = kitchen().tariff_per_kwh, request.GET.get("year", "")
    found = months()
    years = list(dict.fromkeys(row.month.year for row in found if row.month))
    year = whole_in(wished) if whole_in(wished) in years else None
    if year is None and wished != "all" and years:
        year = years[0]
    batches = BatchSums.objects.select_related("batch").defer(*NOT_SHOWN)
    if year is not None:
        found = [row for row in found if row.month and row.month.year == year]
        batches = batches.filter(month__year=year)
    whole = sum_of(found)
    pages = Paginator(batches, PER_PAGE)
    pages.count = whole.listed  # known already
    page = pages.get_page(request.GET.get("page"))
    context = {
        "current": current,
        "page": page,
        "kept": f"year={year or 'all'}&",
        "rows": [costs_of(row, tariff) for row in page.object_list],
        "months": [total_of(row, tariff) for row in found if row.batches],
        "total": total_of(whole, tariff),
        "year": year,
        "years": years,
    }
    return render(request, "costs/costs.html", context)
