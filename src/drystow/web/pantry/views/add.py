"""A package by hand: bought, a gift, or from before the kitchen kept its stock here."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.foods.classify import food_class
from drystow.foods.model import Food
from drystow.foods.table import find
from drystow.web.accounts.rights import right
from drystow.web.foods.markfields import careful, suggested
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import foods_of
from drystow.web.kit.record_forms import page_with, save_or_show
from drystow.web.pantry.adapters import UNKNOWN_FOOD, known_food
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
    row = Package(
        food=food.id if food else UNKNOWN_FOOD, name=food.name if food else words, packed_on=timezone.localdate()
    )
    marks = careful(food) if food else suggested(words, food_class(words))
    form = AddForm.of(request, row=row, food=food, initial={"count": 1, **marks})

    def then(made: Package) -> HttpResponse:
        return redirect("package", made.code) if form.cleaned_data["count"] == 1 else redirect("lot", made.lot)

    return save_or_show(request, form, then, page_with(request, "pantry/add.html", food=food))


def _found(words: str) -> list[Food]:
    if not words:
        return []
    own = foods_of(f"own:{number}" for number in OwnFood.objects.kept().values_list("pk", flat=True))
    return find(words, FOUND, own=own.values())
