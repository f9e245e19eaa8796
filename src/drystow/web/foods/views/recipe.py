"""Recipes: the list, what one of them makes, and writing one."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.web.accounts.rights import right
from drystow.web.foods.forms import RecipeForm
from drystow.web.foods.models import Recipe
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show

PER_PAGE = 50


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
    return _edit(request, Recipe(use=request.GET.get("use", "dry")))


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
    return _edit(request, row)


def _edit(request: HttpRequest, row: Recipe) -> HttpResponse:
    page = page_with(request, "foods/recipe_form.html", title=_title(row))
    return save_or_show(request, RecipeForm.of(request, row=row), "recipe", page)
