"""Places: where packages are kept, how warm it is there."""

from django.core.paginator import Paginator
from django.db.models import Count, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.units import celsius
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.forms import show_typed
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.pantry.forms import PlaceForm, ReadingForm
from drystow.web.pantry.models import Package, Place, PlaceMonth
from drystow.web.pantry.readings import add_readings
from drystow.web.pantry.stock import IN_STOCK

PER_PAGE = 50
READINGS_PER_PAGE = 12
USUAL = {"version": 1, "warm": {"us": "70 °F", "si": "21 °C"}, "humidity": 0.5, "coldest_month": 1}


@right(reads="viewer", writes="helper")
def places(request: HttpRequest) -> HttpResponse:
    """Show all places; add one."""
    units = wished_units(request, kitchen().units)
    form = PlaceForm(request.POST or None, units=units, initial=USUAL)
    if request.method == "POST" and form.is_valid():
        words = msg("added")
        made = try_to_save(form, lambda: records.create(Place(**form.changes), who=person(request), words=words))
        if made is not None:
            saved(request, made, _("Place added."))
            return redirect("places")
    latest = PlaceMonth.objects.filter(place=OuterRef("pk")).order_by("-month")
    here = Package.objects.kept().filter(place=OuterRef("pk"), state__in=IN_STOCK).order_by().values("place")
    rows = Place.objects.kept().annotate(
        packages_here=Coalesce(Subquery(here.annotate(number=Count("pk")).values("number")), 0),
        last_c=Subquery(latest.values("latest_c")[:1]),
        last_at=Subquery(latest.values("latest_at")[:1]),
    )
    page = Paginator(rows.order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "pantry/places.html", {"page": page, "form": form, "kept": ""}, status=_status(form))


@right(reads="viewer", writes="helper")
def place(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one place with its readings; change it, put it in the bin, log a temperature."""
    found = get_object_or_404(Place, pk=pk, binned_at=None)
    units, action = wished_units(request, kitchen().units), request.POST.get("action", "")
    form = PlaceForm(
        request.POST if action == "change" else None,
        units=units,
        number=found.pk,
        initial=PlaceForm.values_of(found),
    )
    show_typed(form, found)
    reading = ReadingForm(request.POST if action == "reading" else None, units=units, auto_id="id_reading_%s")
    if action == "change" and form.is_valid():
        who, changes, expected = person(request), form.changes, form.expected
        if done := try_to_save(form, lambda: records.change(found, changes, expected=expected, who=who)):
            saved(request, done, _("Place saved."))
            return redirect("place", found.pk)
    if action == "reading" and reading.is_valid():
        data = reading.cleaned_data
        add_readings(found, [(data["at"], round(celsius(data["temperature"]), 2))])
        saved(request, None, _("Temperature logged."))
        return redirect("place", found.pk)
    if action == "bin":
        if found.packages.kept().filter(state__in=IN_STOCK).exists():
            return _shown(
                request, found, form, reading, _("There are still packages here; move them to another place first.")
            )
        saved(request, records.put_in_bin(found, who=person(request)), _("The place is in the trash."))
        return redirect("places")
    return _shown(request, found, form, reading, "")


def _shown(request: HttpRequest, found: Place, form: PlaceForm, reading: ReadingForm, problem: str) -> HttpResponse:
    page = Paginator(found.readings.order_by("-at", "-pk"), READINGS_PER_PAGE).get_page(request.GET.get("page"))
    context = {"place": found, "form": form, "reading": reading, "page": page, "kept": "", "problem": problem}
    wrong = problem or any(one.is_bound and one.errors for one in (form, reading))
    return render(request, "pantry/place.html", context, status=422 if wrong else 200)


def _status(form: PlaceForm) -> int:
    return 422 if form.is_bound and form.errors else 200
