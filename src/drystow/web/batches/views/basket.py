"""The basket: what goes into the batch, whether it suits, how to prepare it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods import table
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.properties.suitability import suitability
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import dryer_of
from drystow.web.batches.extra import extras_of
from drystow.web.batches.forms import ItemForm, item_initial
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.kit.forms import show_typed
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import try_to_save

FOUND = 12
OWN_SEARCHED = 300  # own foods and recipes that a search looks through
USUAL_SIZE = 0.0127  # half an inch, the most that the advice on cutting allows [m]
SOURCES = ("low-water-rules", "nchfp-blanching", "extension-freeze-drying")


@right(reads="viewer", writes="helper")
def show_basket(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the basket; a POST adds a food; htmx asks for the found foods only."""
    batch = kept_batch(pk)
    text = request.GET.get("q", "").strip()[:120]
    found = find_foods(text) if text else []
    if only_part(request):
        context = {"add_to": reverse("batch-basket", args=[batch.pk]), "found": found, "q": text}
        return render(request, "foods/found_to_add.html", context)
    ref = request.POST.get("food", "") if request.method == "POST" else request.GET.get("food", "")
    chosen, form = _chosen(ref), None
    if chosen is not None:
        post = request.POST if request.method == "POST" else None
        form = ItemForm(post, units=units_of(request), initial={"food": ref, "size": USUAL_SIZE})
    elif ref:
        found, text = find_foods(ref), ref
    if form is not None and chosen is not None and request.method == "POST" and form.is_valid():
        item = Item(batch=batch, food=ref, name=chosen.name[:200], **form.values())
        made = try_to_save(
            form, lambda: records.create(item, who=person(request), words=msg("basket: {food}", food=item.name))
        )
        if made is not None:
            saved(request, made, _("{food} is in the basket.").format(food=chosen.name))
            return redirect("batch-basket", pk)
    context = _basket(batch) | {"batch": batch, "here": "basket", "q": text, "found": found, "form": form}
    context |= {"chosen": _advised(chosen) if chosen else None, "cites": [cite(key).text for key in SOURCES]}
    return render(request, "batches/basket.html", context)


@right(reads="viewer", writes="helper")
def edit_item(request: HttpRequest, pk: int, item_pk: int) -> HttpResponse:
    """Change how much of a food there is and how it is cut."""
    batch = kept_batch(pk)
    item = get_object_or_404(Item.objects.kept(), pk=item_pk, batch=batch)
    post = request.POST if request.method == "POST" else None
    form = show_typed(ItemForm(post, units=units_of(request), initial=item_initial(item)), item)
    if request.method == "POST" and form.is_valid():
        written = try_to_save(
            form,
            lambda: records.change(
                item,
                form.values(),
                expected=form.expected,
                who=person(request),
                words=msg("basket: {food}", food=item.name),
            ),
        )
        if written is not None:
            saved(request, written, _("{food} saved.").format(food=item.name))
            return redirect("batch-basket", pk)
    return render(request, "batches/item.html", {"batch": batch, "here": "basket", "form": form, "item": item})


@right(writes="helper")
def remove_item(request: HttpRequest, pk: int, item_pk: int) -> HttpResponse:
    """Take a food out of the basket, and so off the trays."""
    item = get_object_or_404(Item.objects.kept(), pk=item_pk, batch=kept_batch(pk))
    binned = records.put_in_bin(item, who=person(request), words=msg("removed from basket: {food}", food=item.name))
    saved(request, binned, _("{food} removed from the basket.").format(food=item.name))
    return redirect("batch-basket", pk)


def find_foods(text: str) -> list[dict[str, Any]]:
    """Return foods for a search, own foods and recipes first among equals, with their verdicts."""
    own = [f"own:{pk}" for pk in OwnFood.objects.kept().values_list("pk", flat=True)[:OWN_SEARCHED]]
    recipes = Recipe.objects.kept().filter(use="dry").exclude(lines=None).distinct()
    own += [f"recipe:{pk}" for pk in recipes.values_list("pk", flat=True)[:OWN_SEARCHED]]
    mine = [food for food in foods_of(own, only_good=True).values() if food.own]
    return [{"food": food, "verdict": suitability(food).verdict} for food in table.find(text, FOUND, own=mine)]


def _chosen(ref: str) -> Food | None:
    try:
        return food_of(ref) if ref else None
    except InputError:
        return None


def _advised(food: Food) -> dict[str, Any]:
    return {"food": food, "advice": suitability(food), "water": food.composition.water}


def _basket(batch: Batch) -> dict[str, Any]:
    items = list(Item.objects.kept().filter(batch=batch))
    foods = foods_of(item.food for item in items)
    rows = [_advised(foods[item.food]) | {"item": item} for item in items]
    water = sum(item.mass_kg * foods[item.food].composition.water for item in items)
    capacity = dryer_of(batch.dryer).trap_capacity
    return {
        "rows": rows,
        "mass": sum(item.mass_kg for item in items),
        "water_mass": water,
        "capacity": capacity,
        "share": round(100 * water / capacity),
        "too_much": water > capacity,
        "price": sum(item.price for item in items),
        "extras": extras_of(batch, items),
    }
