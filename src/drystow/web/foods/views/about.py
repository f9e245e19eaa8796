"""Search the foods; one food, what it is made of and how it freeze-dries."""

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.foods.table import get
from drystow.web.accounts.rights import right
from drystow.web.foods.adapters import about, search
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import food_of
from drystow.web.kit.forms import KitchenForm, QuantityField
from drystow.web.kit.reader import asks_for_part, wished_units
from drystow.web.kit.records import kitchen


class ServingForm(KitchenForm):
    """The dried serving that the nutrition panel counts."""

    serving = QuantityField("small mass", low=0.001, high=2.0, label=_("Serving of dried food"))


@right(reads="viewer", forms="helper")
def show_table_food(request: HttpRequest, food_id: str) -> HttpResponse:
    """Show a food of the table."""
    try:
        food = get(food_id)
    except InputError as problem:
        raise Http404(str(problem)) from None
    if food.id != food_id:
        raise Http404
    return _show(request, food, None)


@right(reads="viewer", forms="helper")
def show_own_food(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a food of the kitchen."""
    own = get_object_or_404(OwnFood, pk=pk)
    return _show(request, food_of(f"own:{pk}"), own)


def _show(request: HttpRequest, food: Food, own: OwnFood | None) -> HttpResponse:
    units = wished_units(request, kitchen().units)
    form, serving = ServingForm(request.GET, units=units) if "serving" in request.GET else None, None
    if form is not None and form.is_valid():
        serving = form.cleaned_data["serving"]
    told = about(food, serving)
    if form is None:
        form = ServingForm(initial={"serving": told.serving}, units=units)
    composition = food.composition
    parts = [
        (part, getattr(composition, part))
        for part in ("water", "protein", "fat", "carbohydrate", "sugars", "fibre", "ash", "salt", "alcohol")
        if part in ("water", "protein", "fat", "carbohydrate") or getattr(composition, part) > 0
    ]
    context = {
        "about": told,
        "food": food,
        "own": own,
        "open_marks": food.raw_animal is None or not food.allergens_stated,
        "parts": parts,
        "two_sd": 2 * composition.water_sd,
        "form": form,
    }
    return render(request, "foods/food.html", context)


PER_PAGE = 50
SUGGESTED = 12
LONGEST = 100


@right(reads="viewer", forms="helper")
def show_foods(request: HttpRequest) -> HttpResponse:
    """Show what a search finds, and the foods of the kitchen."""
    wanted = request.GET.get("q", "")[:LONGEST].strip()
    context = {"q": wanted, "found": search(wanted, 30) if wanted else []}
    if asks_for_part(request):
        return render(request, "foods/found_part.html", context)
    page = Paginator(OwnFood.objects.kept().order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "foods/foods.html", context | {"page": page, "kept": ""})


@right(reads="viewer", forms="helper")
def pick_food(request: HttpRequest) -> HttpResponse:
    """Return names that fit what is typed, as options of an input; the field may have any name."""
    wanted = next((request.GET[name] for name in request.GET if name.endswith(("food", "like"))), "")
    found = search(wanted[:LONGEST], SUGGESTED) if wanted.strip() else []
    return render(request, "foods/options_part.html", {"names": [food.name for food in found]})
