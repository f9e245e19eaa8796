"""What a recipe makes, and for one to cook what the pantry gives."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import NoReverseMatch, reverse
from django.utils.http import urlencode

from drystow.errors import InputError
from drystow.serving.cautions import TWO_HOURS
from drystow.web.accounts.rights import right
from drystow.web.foods.adapters import about, dish_of, recipe_nutrients
from drystow.web.foods.models import Recipe
from drystow.web.foods.spec import foods_of
from drystow.web.kit.words import problem_words
from drystow.web.pantry.cooking import cook_from_pantry


@right(reads="viewer", forms="helper")
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


def _new_batch(recipe: Recipe) -> str:
    for name in ("batch-new", "batches"):
        try:
            return f"{reverse(name)}?{urlencode({'food': f'recipe:{recipe.pk}'})}"
        except NoReverseMatch:
            continue
    return ""
