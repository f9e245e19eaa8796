"""Count the stock of a place: write down what is there; what differs is put right."""

from contextlib import suppress
from functools import partial
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.pantry import actions, stock
from drystow.web.pantry.forms import CountForm
from drystow.web.pantry.models import Package, Place

PER_PAGE = 50
Row = tuple[Package, CountForm]


@right(reads="viewer", writes="helper")
def count_stock(request: HttpRequest) -> HttpResponse:
    """Show what should be in a place, with a field for what is; save the differences."""
    places = list(Place.objects.kept())
    wished = request.GET.get("place", "")
    place = next((place for place in places if str(place.pk) == wished), places[0] if len(places) == 1 else None)
    context: dict[str, Any] = {"places": places, "place": place, "rows": [], "page": None, "strangers": ""}
    if place is None:
        return render(request, "pantry/count.html", context)
    here = stock.kept().filter(place=place, state__in=stock.IN_STOCK).order_by("name", "lot", "pk")
    page = Paginator(here.values_list("pk", flat=True), PER_PAGE).get_page(request.GET.get("page"))
    packages = stock.read(page.object_list)
    units = wished_units(request, kitchen().units)
    data = request.POST if request.method == "POST" else None
    rows = [
        (package, CountForm(data, prefix=package.code, units=units, initial={"version": package.version}))
        for package in packages
    ]
    context |= {"rows": rows, "page": page, "kept": f"place={place.pk}&"}
    if request.method == "POST":
        context["strangers"] = request.POST.get("strangers", "")
        with records.one_action():
            all_saved = _saved(request, place, rows, context)
        if all_saved:
            return redirect(f"{reverse('pantry-count')}?place={place.pk}&page={page.number}")
    return render(request, "pantry/count.html", context, status=422 if request.method == "POST" else 200)


def _saved(request: HttpRequest, place: Place, rows: list[Row], context: dict[str, Any]) -> bool:
    """Save every row that can be saved, and say whether all could."""
    who, good = person(request), True
    changed: list[Package] = []
    for package, form in rows:
        if not form.is_valid():
            good = False
            continue
        found = 0.0 if form.cleaned_data["gone"] else form.cleaned_data["found"]
        if found is None:
            continue
        write = partial(actions.count, package, found, expected=form.expected, who=who)
        done = try_to_save(form, write)
        if done is None:
            good = False
        elif done.version != package.version:
            changed.append(done)
    context["unknown"], moved = _moved_here(place, context["strangers"], who)
    changed += moved
    count = len(changed)
    words = ngettext("Counted: {n} package was corrected.", "Counted: {n} packages were corrected.", count)
    good = good and not context["unknown"]
    if count:
        saved(request, changed[-1], words.format(n=count))
    elif good:
        messages.success(request, _("Counted: everything matches."))
    return good


def _moved_here(place: Place, written: str, who: str) -> tuple[list[str], list[Package]]:
    """Move packages found here that belong elsewhere; return the codes that are not known, and what was moved."""
    codes = list(dict.fromkeys(written.upper().replace(",", " ").split()))[:50]
    known = {package.code: package for package in stock.kept().filter(code__in=codes)}
    moved = []
    for package in known.values():
        if package.place_id != place.pk and package.state in stock.IN_STOCK:
            with suppress(InputError, records.Gone):  # somebody put it here, or into the bin, at this moment
                moved.append(actions.move(package, place, expected=None, who=who))
    return [code for code in codes if code not in known], moved
