"""Recipes: the list, and what one of them makes."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.web.foods.models import Recipe
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved

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


@require_POST
def bin_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a recipe in the bin."""
    row = records.put_in_bin(get_object_or_404(Recipe, pk=pk), who=person(request))
    saved(request, row, _("{name} is in the trash.").format(name=row.name))
    return redirect("recipes")
