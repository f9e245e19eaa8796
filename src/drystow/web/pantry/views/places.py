"""Places: where packages are kept, how warm it is there."""

from functools import partial

from django.core.paginator import Paginator
from django.db.models import Count, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.units import celsius
from drystow.web.accounts.rights import right
from drystow.web.kit.notices import saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.record_forms import save_or_show, to_bin
from drystow.web.kit.records import kitchen
from drystow.web.pantry.forms import PlaceForm, ReadingForm
from drystow.web.pantry.models import Package, Place, PlaceMonth
from drystow.web.pantry.readings import add_readings
from drystow.web.pantry.stock import IN_STOCK

PER_PAGE = 50
READINGS_PER_PAGE, READING = 12, "id_reading_%s"
USUAL = {"warm": {"us": "70 °F", "si": "21 °C"}}


@right(reads="viewer", writes="helper")
def places(request: HttpRequest) -> HttpResponse:
    """Show all places; add one."""
    form = PlaceForm.of(request, row=Place(), initial=USUAL)
    return save_or_show(request, form, redirect("places"), partial(_list, request))


def _list(request: HttpRequest, form: PlaceForm) -> HttpResponse:
    latest = PlaceMonth.objects.filter(place=OuterRef("pk")).order_by("-month")
    here = Package.objects.kept().filter(place=OuterRef("pk"), state__in=IN_STOCK).order_by().values("place")
    rows = Place.objects.kept().annotate(
        packages_here=Coalesce(Subquery(here.annotate(number=Count("pk")).values("number")), 0),
        last_c=Subquery(latest.values("latest_c")[:1]),
        last_at=Subquery(latest.values("latest_at")[:1]),
    )
    page = Paginator(rows.order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "form": form, "kept": ""}
    return render(request, "pantry/places.html", context, status=422 if form.is_bound else 200)


@right(reads="viewer", writes="helper")
def place(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one place with its readings; change it."""
    form = PlaceForm.of(request, row=_kept(pk))
    return save_or_show(request, form, "place", partial(_page, request))


@right(writes="helper")
def log_temperature(request: HttpRequest, pk: int) -> HttpResponse:
    """Log a temperature of a place."""
    found, reading = _kept(pk), ReadingForm.of(request, auto_id=READING)
    if not reading.is_valid():
        return _page(request, PlaceForm(row=found, units=reading.units), reading)
    data = reading.cleaned_data
    add_readings(found, [(data["at"], round(celsius(data["temperature"]), 2))])
    saved(request, None, _("Temperature logged."))
    return redirect("place", found.pk)


@right(writes="helper")
def bin_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a place in the bin, as long as no package is there."""
    found = _kept(pk)
    if found.packages.kept().filter(state__in=IN_STOCK).exists():
        problem = _("There are still packages here; move them to another place first.")
        form = PlaceForm(row=found, units=wished_units(request, kitchen().units))
        return _page(request, form, problem=problem)
    return to_bin(request, found, redirect("places"), msg("The place is in the trash."))


def _kept(pk: int) -> Place:
    return get_object_or_404(Place.objects.kept(), pk=pk)


def _page(request: HttpRequest, form: PlaceForm, reading: ReadingForm | None = None, problem: str = "") -> HttpResponse:
    found: Place = form.row
    page = Paginator(found.readings.order_by("-at", "-pk"), READINGS_PER_PAGE).get_page(request.GET.get("page"))
    context = {"place": found, "form": form, "page": page, "kept": "", "problem": problem}
    context["reading"] = reading or ReadingForm(units=form.units, auto_id=READING)
    wrong = problem or form.is_bound or reading is not None
    return render(request, "pantry/place.html", context, status=422 if wrong else 200)
