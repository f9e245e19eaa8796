"""Recipes: the list, and what one of them makes."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.errors import InputError
from drystow.serving.cautions import TWO_HOURS
from drystow.web.batches.adapters import foods_of
from drystow.web.foods.adapters import about, cook_from_pantry, dish_of, recipe_nutrients
from drystow.web.foods.models import Recipe
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.words import problem_words

PER_PAGE = 50


def show_recipes(request: HttpRequest) -> HttpResponse:
    """Show all recipes."""
    wanted = request.GET.get("q", "").strip()
    rows = Recipe.objects.kept().prefetch_related("lines").order_by("name")
    if wanted:
        rows = rows.filter(name__icontains=wanted)
    page = Paginator(rows, PER_PAGE).get_page(request.GET.get("page"))
    kept = f"{urlencode({'q': wanted})}&" if wanted else ""
    return render(request, "foods/recipes.html", {"page": page, "q": wanted, "kept": kept})


def show_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a recipe makes, and for one to cook what the pantry gives."""
    recipe = get_object_or_404(Recipe.objects.prefetch_related("lines"), pk=pk)
    context: dict[str, Any] = {"recipe": recipe, "dry_this": _new_batch(recipe)}
    try:
        dish = dish_of(recipe)
        serving, panel = recipe_nutrients(recipe, dish)
        foods = foods_of(line.food for line in recipe.lines.all())
        for name, mark in (("raw", True), ("unsure", None)):
            context[name] = [line.name for line in recipe.lines.all() if foods[line.food].raw_animal is mark]
        context |= {"dish": dish, "about": about(dish), "serving": serving, "panel": panel}
        if recipe.use == "cook":
            context |= {"cooking": cook_from_pantry(recipe), "two_hours": TWO_HOURS}
    except InputError as problem:
        context["problem"] = problem_words(problem)
    return render(request, "foods/recipe.html", context)


@require_POST
def bin_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a recipe in the bin."""
    row = records.put_in_bin(get_object_or_404(Recipe, pk=pk), who=person(request))
    saved(request, row, _("%(name)s is in the trash.") % {"name": row.name})
    return redirect("recipes")


def _new_batch(recipe: Recipe) -> str:
    for name in ("batch-new", "batches"):
        try:
            return f"{reverse(name)}?{urlencode({'food': f'recipe:{recipe.pk}'})}"
        except NoReverseMatch:
            continue
    return ""
