"""Pages of the foods: search them, one of them, own foods from a label or a moisture test, recipes."""

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.foods.table import get
from drystow.web.accounts.rights import right
from drystow.web.foods.adapters import about, search
from drystow.web.foods.forms import WAYS, RecipeForm
from drystow.web.foods.markfields import careful
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import food_of
from drystow.web.kit.forms import KitchenForm, QuantityField
from drystow.web.kit.reader import asks_for_part, wished_units
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.kit.records import kitchen


class ServingForm(KitchenForm):
    """The dried serving that the nutrition panel counts."""

    serving = QuantityField("small mass", low=0.001, high=2.0, label=gettext_lazy("Serving of dried food"))


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


@right(reads="viewer", writes="helper")
def add_from_label(request: HttpRequest) -> HttpResponse:
    """Add a food from its nutrition label."""
    return _edit(request, "label", OwnFood(food_class=""), {"amount": "100 g"})


@right(reads="viewer", writes="helper")
def add_from_moisture(request: HttpRequest) -> HttpResponse:
    """Add a food whose moisture was measured."""
    row = OwnFood(food_class="")
    start: dict[str, Any] = {"moisture_sd": 0.005}
    try:
        like = get(request.GET["like"]) if "like" in request.GET else None
    except InputError:
        like = None
    if like is not None:
        row = OwnFood(food_class=like.food_class, like=list(like.like))
        start |= {"like": like.name, **careful(like)}
    return _edit(request, "moisture", row, start)


@right(reads="viewer", writes="helper")
def edit_own_food(request: HttpRequest, pk: int) -> HttpResponse:
    """Edit a food of the kitchen in the way it was entered."""
    row = get_object_or_404(OwnFood.objects.kept(), pk=pk)
    return _edit(request, row.entered.get("way", "label"), row, {})


def _edit(request: HttpRequest, way: str, row: OwnFood, start: dict[str, Any]) -> HttpResponse:
    form = WAYS[way].of(request, row=row, initial=start)
    title = _("A food of your own") if form.new else _("Edit {name}").format(name=row.name)
    page = page_with(request, "foods/own_form.html", way=way, title=title)
    return save_or_show(request, form, "own-food", page)


bin_own_food = right(writes="helper")(bin_view(OwnFood, lambda row: redirect("foods")))


@right(reads="viewer", forms="helper")
def show_recipes(request: HttpRequest) -> HttpResponse:
    """Show all recipes."""
    wanted = request.GET.get("q", "").strip()
    rows = Recipe.objects.kept().prefetch_related("lines").order_by("name")
    if wanted:
        rows = rows.filter(name__icontains=wanted)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    kept = f"{urlencode({'q': wanted})}&" if wanted else ""
    return render(request, "foods/recipes.html", {"page": page, "q": wanted, "kept": kept})


bin_recipe = right(writes="helper")(bin_view(Recipe, lambda row: redirect("recipes")))


@right(reads="viewer", writes="helper")
def add_recipe(request: HttpRequest) -> HttpResponse:
    """Write a new recipe."""
    return _edit_recipe(request, Recipe(use=request.GET.get("use", "dry")))


@right(writes="helper", page="recipe-new")
def add_lines(request: HttpRequest) -> HttpResponse:
    """Show the form of a new recipe as it stands, with further empty lines."""
    return _with_more(request, Recipe())


@right(writes="helper", page="recipe-edit")
def edit_lines(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the form of a recipe as it stands, with further empty lines."""
    return _with_more(request, get_object_or_404(Recipe.objects.kept(), pk=pk))


def _with_more(request: HttpRequest, row: Recipe) -> HttpResponse:
    form = RecipeForm.of(request, row=row, more=True)
    return render(request, "foods/recipe_form.html", {"title": _title(row), "form": form})


def _title(row: Recipe) -> str:
    return _("A recipe") if row.pk is None else _("Edit {name}").format(name=row.name)


@right(reads="viewer", writes="helper")
def edit_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a recipe and its ingredients."""
    row = get_object_or_404(Recipe.objects.kept(), pk=pk)
    if row.ingredients is None and request.method == "POST":  # written before they were part of the history
        row.ingredients = list(row.lines.values("food", "name", "mass_kg"))
        Recipe.objects.filter(pk=pk).update(ingredients=row.ingredients)
    return _edit_recipe(request, row)


def _edit_recipe(request: HttpRequest, row: Recipe) -> HttpResponse:
    page = page_with(request, "foods/recipe_form.html", title=_title(row))
    return save_or_show(request, RecipeForm.of(request, row=row), "recipe", page)
