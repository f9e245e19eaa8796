"""The shelf: what is there, what to use first, for how many days it lasts, and what a recipe takes of it."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.serving.cautions import TWO_HOURS
from drystow.web.accounts.rights import right
from drystow.web.foods.adapters import about, dish_of, recipe_nutrients
from drystow.web.foods.models import Recipe
from drystow.web.foods.spec import foods_of
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import problem_words
from drystow.web.pantry import stock
from drystow.web.pantry.adapters import days_of_food
from drystow.web.pantry.cooking import cook_from_pantry
from drystow.web.pantry.models import Movement, Package

PER_PAGE = 50


def states() -> tuple[tuple[str, str], ...]:
    """Return the groups of states to choose from."""
    return (
        ("stock", _("in stock")),
        ("stored", _("closed")),
        ("open", _("open")),
        ("gone", _("used up, given away or thrown out")),
        ("all", _("all")),
    )


def orders() -> tuple[tuple[str, str], ...]:
    """Return the orders to choose from."""
    return (("date", _("date")), ("place", _("place")), ("food", _("food")), ("lot", _("lot")))


@right(reads="viewer", forms="helper")
def show_shelf(request: HttpRequest) -> HttpResponse:
    """Show the packages that were asked for, with the totals of the stock."""
    words, state = request.GET.get("q", "").strip()[:100], request.GET.get("state", "stock")
    order = request.GET.get("by", "date")
    if words and (found := Package.objects.filter(code=words.upper()).first()):
        return redirect("package", found.code)
    packages = stock.in_state(stock.searched(stock.kept(), words), state)
    whole = stock.totals(stock.in_state(stock.kept(), "stock"))
    pages = Paginator(stock.numbers(packages, order), PER_PAGE)
    if not words and state == "stock":
        pages.count = whole.packages  # known already
    page = pages.get_page(request.GET.get("page"))
    page.object_list = stock.read(page.object_list)
    return render(
        request,
        "pantry/shelf.html",
        {
            "page": page,
            "kept": urlencode({"q": words, "state": state, "by": order}) + "&",
            "q": words,
            "state": state,
            "by": order,
            "states": states(),
            "orders": orders(),
            "soon": stock.soon(timezone.localdate()),
            "totals": whole,
            "days": days_of_food(whole.energy_kcal, whole.protein_g, kitchen()),
            "empty": not whole.packages and not words and not Package.objects.kept().exists(),
            "today": timezone.localdate(),
        },
    )


@right(reads="viewer", forms="helper")
def show_lot(request: HttpRequest, lot: str) -> HttpResponse:
    """Show every package of a lot, also those in the bin, and everything that was done with them."""
    moves = Prefetch("movements", Movement.objects.select_related("place"))
    packages = list(
        Package.objects.filter(lot=lot)
        .select_related("place", "batch")
        .prefetch_related(moves)
        .order_by("name", "code")
    )
    if not packages:
        raise Http404
    sums = dict.fromkeys(("used", "given", "discarded", "counted"), 0.0)
    for package in packages:
        for move in package.movements.all():
            if move.kind in sums:
                sums[move.kind] += move.mass_kg or 0.0
    given = [(package, move) for package in packages for move in package.movements.all() if move.kind == "given"]
    return render(
        request,
        "pantry/lot.html",
        {
            "lot": lot,
            "packages": packages,
            "packed": sum(package.net_mass_kg for package in packages),
            "left": sum(package.left_mass_kg for package in packages),
            "sums": sums,
            "given": given,
            "batch": packages[0].batch,
        },
    )


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
