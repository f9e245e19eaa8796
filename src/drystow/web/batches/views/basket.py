"""The basket: what goes into the batch, whether it suits, how to prepare it."""

from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from drystow.errors import InputError
from drystow.foods import table
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.properties.suitability import suitability, will_not_dry
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import dryer_of
from drystow.web.batches.extra import extras_of
from drystow.web.batches.forms import ItemForm
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.request import kept_batch, only_part
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show

FOUND = 12
OWN_SEARCHED = 300  # own foods and recipes that a search looks through
USUAL_SIZE = 0.0127  # half an inch, the most that the advice on cutting allows [m]
SOURCES = ("low-water-rules", "nchfp-blanching", "extension-freeze-drying")


@right(reads="viewer", writes="helper")
def show_basket(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the basket; a POST adds a food; htmx asks for the found foods only."""
    batch, ref = kept_batch(pk), ref_of(request)
    chosen, search = search_food(request, "batch-basket", pk, ref)
    if only_part(request):
        return render(request, "foods/found_to_add.html", search)
    if chosen is None:
        return _page(request, batch, None, **search)
    item = Item(batch=batch, food=ref, name=chosen.name[:200], size_m=USUAL_SIZE)
    page = partial(_page, request, batch, **search | {"chosen": _advised(chosen)})
    return save_or_show(request, ItemForm.of(request, row=item), redirect("batch-basket", pk), page)


def _page(request: HttpRequest, batch: Batch, form: ItemForm | None, **more: Any) -> HttpResponse:
    cites = [cite(key).text for key in SOURCES]
    context = {"batch": batch, "here": "basket", "form": form, "chosen": None, "cites": cites} | _basket(batch) | more
    return render(request, "batches/basket.html", context)


@right(reads="viewer", writes="helper")
def edit_item(request: HttpRequest, pk: int, item_pk: int) -> HttpResponse:
    """Change how much of a food there is and how it is cut."""
    item = _item(pk, item_pk)
    page = page_with(request, "batches/item.html", batch=item.batch, here="basket", item=item)
    return save_or_show(request, ItemForm.of(request, row=item), redirect("batch-basket", pk), page)


def _item(pk: int, item_pk: int) -> Item:
    item: Item = get_object_or_404(Item.objects.kept(), pk=item_pk, batch=kept_batch(pk))
    return item


remove_item = right(writes="helper")(
    bin_view(
        Item,
        lambda item: redirect("batch-basket", item.batch_id),
        msg("{name} removed from the basket.", name=""),
        find=_item,
    )
)


def find_foods(text: str) -> list[dict[str, Any]]:
    """Return foods for a search, own foods and recipes first among equals, with their verdicts."""
    own = [f"own:{pk}" for pk in OwnFood.objects.kept().values_list("pk", flat=True)[:OWN_SEARCHED]]
    recipes = Recipe.objects.kept().filter(use="dry").exclude(lines=None).distinct()
    own += [f"recipe:{pk}" for pk in recipes.values_list("pk", flat=True)[:OWN_SEARCHED]]
    mine = [food for food in foods_of(own, only_good=True).values() if food.own]
    return [{"food": food, "verdict": suitability(food).verdict} for food in table.find(text, FOUND, own=mine)]


def ref_of(request: HttpRequest) -> str:
    """Return the food that a form sends, or that the address names."""
    return (request.POST if request.method == "POST" else request.GET).get("food", "")[:140]


def search_food(request: HttpRequest, page: str, pk: int, ref: str) -> tuple[Food | None, dict[str, Any]]:
    """Return the food that was chosen to be added, and what a page tells of the search for it.

    page: name of the address at which it is added
    ref: of the food, or words for which foods are looked for where there is none
    """
    chosen, words = chosen_food(ref), request.GET.get("q", "").strip()[:120]
    words = ref if ref and chosen is None else words
    found = find_foods(words) if words else []
    return chosen, {"add_to": reverse(page, args=[pk]), "q": words, "found": found, "chosen": chosen}


def chosen_food(ref: str) -> Food | None:
    """Return a food, None when there is none."""
    try:
        return food_of(ref) if ref else None
    except InputError:
        return None


def _advised(food: Food, skin_state: str = "") -> dict[str, Any]:
    refused = will_not_dry(food) is not None
    return {"food": food, "advice": suitability(food, skin_state), "water": food.composition.water, "refused": refused}


def _basket(batch: Batch) -> dict[str, Any]:
    items = list(Item.objects.kept().filter(batch=batch))
    foods = foods_of(item.food for item in items)
    rows = [_advised(foods[item.food], item.skin_state) | {"item": item} for item in items]
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
