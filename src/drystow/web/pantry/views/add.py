"""A package by hand: bought, a gift, or from before the kitchen kept its stock here."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.foods.classify import food_class
from drystow.foods.model import Food
from drystow.foods.table import find
from drystow.keeping.shelf_life import Keeps
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.foods.markfields import careful, stated, suggested
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.pantry import actions, dates
from drystow.web.pantry.actions import create_package
from drystow.web.pantry.adapters import ABSORBER_INSIDE, UNKNOWN_FOOD, contents_of, known_food, usual_moisture
from drystow.web.pantry.forms import AddForm
from drystow.web.pantry.models import Package, Place

FOUND = 12


@right(reads="viewer", writes="helper")
def add_package(request: HttpRequest) -> HttpResponse:
    """Find the food, then write down the package."""
    words, ref = request.GET.get("q", "").strip()[:100], request.GET.get("food", "")
    if not Place.objects.kept().exists():
        messages.info(request, _("First add a place to keep packages."))
        return redirect("places")
    food = known_food(ref) if ref and ref != UNKNOWN_FOOD else None
    if food is None and ref != UNKNOWN_FOOD:
        return render(request, "pantry/add_food.html", {"q": words, "found": _found(words), "unknown": UNKNOWN_FOOD})
    units = wished_units(request, kitchen().units)
    first = {
        "name": food.name if food else words,
        "packed_on": timezone.localdate(),
        "count": 1,
        **(careful(food) if food else suggested(words, food_class(words))),
    }
    form = AddForm(request.POST or None, units=units, initial=first)
    if request.method == "POST" and form.is_valid():
        package = _package(form.cleaned_data, food)
        count, who = form.cleaned_data["count"], person(request)
        made = try_to_save(form, lambda: _create(package, count, who))
        if made is not None:
            saved(request, made if count == 1 else None, _("Added. The code is on the package page."))
            return redirect("package", made.code) if count == 1 else redirect("lot", made.lot)
    return render(
        request,
        "pantry/add.html",
        {"form": form, "food": food},
        status=422 if form.is_bound and form.errors else 200,
    )


def _found(words: str) -> list[Food]:
    if not words:
        return []
    own = foods_of(f"own:{number}" for number in OwnFood.objects.kept().values_list("pk", flat=True))
    return find(words, FOUND, own=own.values())


def _package(data: dict[str, Any], food: Food | None) -> Package:
    day: date = data["packed_on"]
    package = Package(
        lot=data["lot"].strip() or f"H{day:%y%m%d}",
        food=food.id if food else UNKNOWN_FOOD,
        name=data["name"].strip(),
        place=data["place"],
        container=data["container"],
        net_mass_kg=data["net"],
        left_mass_kg=data["net"],
        packed_on=day,
        absorbers=ABSORBER_INSIDE if data["absorber"] else "",
    )
    if food is not None:
        package.residual_moisture = usual_moisture(food)
        for name, value in contents_of(food, data["net"], package.residual_moisture).items():
            setattr(package, name, value)
        if data["best_before"] is None:
            dates.write(package, dates.closed(package, [], day))
    if data["best_before"] is not None:
        dates.write(package, Keeps(day, data["best_before"], None, "", dates.BY_HAND))
    for name, value in stated(data).items():
        if food is None or data[name]:  # what nobody answers is as the food says
            setattr(package, name, value)
    return package


def _create(package: Package, count: int, who: str) -> Package:
    with transaction.atomic(), records.one_action():
        for _number in range(count):
            package.pk, package._state.adding = None, True
            package = create_package(package, who=who, words=msg("added by hand"))
            actions.packed(package, who=who, note="added by hand")
    return package
