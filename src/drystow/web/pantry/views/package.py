"""One package: the page that the code on its label opens, and adding one by hand."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.foods.classify import food_class
from drystow.foods.model import Food
from drystow.foods.table import find
from drystow.packing.containers import containers
from drystow.packing.plan import describe_time
from drystow.packing.seasons import DAY
from drystow.web.accounts.rights import right
from drystow.web.batches.proved import packed_unproved
from drystow.web.foods.markfields import careful, suggested
from drystow.web.foods.models import OwnFood
from drystow.web.foods.spec import foods_of
from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.reader import wished_units
from drystow.web.kit.record_forms import page_with, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words
from drystow.web.pantry import books
from drystow.web.pantry.adapters import UNKNOWN_FOOD, facts_of, known_food, serving_of
from drystow.web.pantry.dates import keeps_of, too_late
from drystow.web.pantry.forms import DONE_WITH, AddForm
from drystow.web.pantry.models import Movement, Package, Place

SHARES = (("1", 1.0), ("½", 0.5), ("⅓", 1 / 3), ("¼", 0.25))


@right(reads="viewer", forms="helper")
def show_package(request: HttpRequest, code: str) -> HttpResponse:
    """Show a package and what can be done with it."""
    return _page(request, _package(code), {})


@right(writes="helper")
def act_on_package(request: HttpRequest, code: str, action: str) -> HttpResponse:
    """Do something with a package: open, use, give, discard, move or bin."""
    if action not in DONE_WITH:
        raise Http404
    form = DONE_WITH[action].of(request, row=_package(code), auto_id=f"id_{action}_%s")
    return save_or_show(request, form, _to_it, lambda form: _page(request, _package(code), {action: form}))


def _to_it(package: Package) -> HttpResponse:
    return redirect("package", package.code)


def _package(code: str) -> Package:
    return get_object_or_404(Package.objects.select_related("place", "batch"), code=code.upper())


def _page(request: HttpRequest, package: Package, bound: dict[str, KitchenForm]) -> HttpResponse:
    units, today = wished_units(request, kitchen().units), timezone.localdate()
    movements = list(Movement.objects.filter(package=package).select_related("place"))
    names = () if package.binned_at or package.state in books.CLOSED else ("use", "give", "discard", "move", "open")
    forms = {
        name: bound.get(name) or DONE_WITH[name](row=package, units=units, auto_id=f"id_{name}_%s") for name in names
    }
    facts = facts_of(package, movements, today)
    keeps = keeps_of(package)
    days_left = (keeps.best_before - today).days if keeps else None
    portions = SHARES if package.left_mass_kg else ()
    return render(
        request,
        "pantry/package.html",
        {
            "package": package,
            "facts": facts,
            "keeps": keeps,
            "too_late": too_late(package, movements, today),
            "over": days_left is not None and days_left < 0,
            "left_words": in_words(describe_time(days_left * DAY)) if days_left is not None and days_left >= 0 else "",
            "whole": serving_of(package, package.net_mass_kg, units),
            "parts": [(name, serving_of(package, share * package.left_mass_kg, units)) for name, share in portions],
            "movements": movements[::-1],
            "unproved": packed_unproved(package.batch).get(package.item_id or 0, []) if package.batch else [],
            "forms": forms,
            "problem": [error for form in bound.values() for error in form.non_field_errors()],
            "container": _container(package.container),
            "closed": package.state in books.CLOSED,
            "today": today,
        },
        status=200 if all(form.is_valid() for form in bound.values()) else 422,
    )


def _container(name: str) -> str:
    return containers()[name].name if name in containers() else name


FOUND = 12


@right(reads="viewer", writes="helper")
def add_package(request: HttpRequest) -> HttpResponse:
    """Find the food, then write down the package."""
    words, ref = request.GET.get("q", "").strip()[:100], request.GET.get("food", "")
    if not Place.objects.kept().exists():
        messages.info(request, _("First add a place to keep packages."))
        return redirect("places")
    food = known_food(ref) if ref and ref != UNKNOWN_FOOD else None
    if food is None and ref != UNKNOWN_FOOD:
        return render(request, "pantry/add_food.html", {"q": words, "found": _found(words), "unknown": UNKNOWN_FOOD})
    row = Package(
        food=food.id if food else UNKNOWN_FOOD, name=food.name if food else words, packed_on=timezone.localdate()
    )
    marks = careful(food) if food else suggested(words, food_class(words))
    form = AddForm.of(request, row=row, food=food, initial={"count": 1, **marks})

    def then(made: Package) -> HttpResponse:
        return redirect("package", made.code) if form.cleaned_data["count"] == 1 else redirect("lot", made.lot)

    return save_or_show(request, form, then, page_with(request, "pantry/add.html", food=food))


def _found(words: str) -> list[Food]:
    if not words:
        return []
    own = foods_of(f"own:{number}" for number in OwnFood.objects.kept().values_list("pk", flat=True))
    return find(words, FOUND, own=own.values())
