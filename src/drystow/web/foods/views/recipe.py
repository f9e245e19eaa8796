"""Recipes: the list, what one of them makes, and writing one."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods import recipe as pots
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.foods.adapters import named, own_foods, search
from drystow.web.foods.forms import MOST_LINES, LineForm, RecipeForm
from drystow.web.foods.models import Recipe
from drystow.web.kit import records
from drystow.web.kit.forms import show_typed
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import save_row, tell
from drystow.web.kit.words import in_words

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


@right(writes="helper")
def bin_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a recipe in the bin."""
    row = records.put_in_bin(get_object_or_404(Recipe, pk=pk), who=person(request))
    saved(request, row, _("{name} is in the trash.").format(name=row.name))
    return redirect("recipes")


SPARE_LINES = 4
FIELDS = ("name", "use", "cooked", "final_mass_kg", "servings", "method", "like")
Line = dict[str, Any]


@right(reads="viewer", writes="helper")
def add_recipe(request: HttpRequest) -> HttpResponse:
    """Write a new recipe."""
    return _edit(request, None, {"servings": 4, "use": request.GET.get("use", "dry")}, [])


@right(reads="viewer", writes="helper")
def edit_recipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a recipe and its ingredients."""
    row = get_object_or_404(Recipe.objects.kept(), pk=pk)
    lines: list[Line] = list(row.lines.values("food", "name", "mass_kg"))
    if row.ingredients is None and request.method == "POST":  # written before they were part of the history
        Recipe.objects.filter(pk=pk).update(ingredients=lines)
    start = {name: getattr(row, name) for name in FIELDS} | {"version": row.version}
    return _edit(request, row, start, lines)


def _edit(request: HttpRequest, row: Recipe | None, start: dict[str, Any], lines: list[Line]) -> HttpResponse:
    units = wished_units(request, kitchen().units)
    posted = request.POST if request.method == "POST" else None
    form = RecipeForm(posted, initial=start, units=units)
    if row is not None:
        show_typed(form, row)
    shown = _line_forms(posted, lines, units)
    names: list[str] = []
    if posted is not None and "more" not in posted:
        ready = form.is_valid()
        written, names = _read(shown)
        if ready and written is not None:
            done = _save(request, form, row, written)
            if done is not None:
                return redirect("recipe", done.pk)
    context = {
        "form": form,
        "lines": shown,
        "names": names,
        "row": row,
        "title": _("Edit {name}").format(name=row.name) if row else _("A recipe"),
    }
    return render(request, "foods/recipe_form.html", context, status=422 if posted and "more" not in posted else 200)


def _line_forms(posted: Any, lines: list[Line], units: str) -> list[LineForm]:
    if posted is None:
        start = [{"food": line["name"], "mass_kg": line["mass_kg"]} for line in lines]
        blank: list[Line] = [{}] * SPARE_LINES
        return [
            LineForm(initial=values, prefix=f"line-{number}", units=units)
            for number, values in enumerate([*start, *blank][:MOST_LINES])
        ]
    count = 0
    while count < MOST_LINES and f"line-{count}-food" in posted:
        count += 1
    forms = [LineForm(posted, prefix=f"line-{number}", units=units) for number in range(count)]
    spare = SPARE_LINES if "more" in posted else 0
    return forms + [
        LineForm(prefix=f"line-{number}", units=units) for number in range(count, min(count + spare, MOST_LINES))
    ]


def _read(shown: list[LineForm]) -> tuple[list[tuple[Food, float]] | None, list[str]]:
    """Return the foods with their masses, or None with names to choose from; reasons stand beside the fields."""
    own, written, names, good = own_foods(), [], [], True
    for form in shown:
        if not form.is_valid():
            good = False
            continue
        text, mass = form.cleaned_data["food"].strip(), form.cleaned_data["mass_kg"]
        if not text and mass is None:
            continue
        if not text or mass is None:
            form.add_error("mass_kg" if text else "food", _("Enter both the ingredient and its weight."))
            good = False
            continue
        try:
            written.append((named(text, own), mass))
        except InputError as problem:
            form.add_error("food", in_words(problem.message))
            names += [food.name for food in search(text, 8)]
            good = False
    return (written if good else None), names


def _save(request: HttpRequest, form: RecipeForm, row: Recipe | None, written: list[tuple[Food, float]]) -> Any:
    values = {name: form.cleaned_data[name] for name in FIELDS}
    values["like"] = values["like"] or ([] if row else None)  # None: as its name hints
    try:
        ingredients = tuple(pots.Ingredient(food, mass) for food, mass in written)
        pots.prepare(
            pots.RecipeSpec(values["name"], ingredients, final_mass=values["final_mass_kg"], cooked=values["cooked"])
        )
    except InputError as problem:
        tell(form, problem, {"final_mass": "final_mass_kg"})
        return None
    values["ingredients"] = [
        {"food": food.id, "name": food.name[:200], "mass_kg": float(mass)} for food, mass in written
    ]
    done = save_row(form, Recipe, row, values, who=person(request), words=msg("recipe"))
    if done is not None:
        saved(request, done, _("{name} saved.").format(name=values["name"]))
    return done
