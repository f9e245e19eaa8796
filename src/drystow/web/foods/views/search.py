"""Search the foods, and suggestions while somebody types an ingredient."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.web.foods.adapters import search
from drystow.web.foods.models import OwnFood

PER_PAGE = 50
SUGGESTED = 12
LONGEST = 100


def show_foods(request: HttpRequest) -> HttpResponse:
    """Show what a search finds, and the foods of the house."""
    wanted = request.GET.get("q", "")[:LONGEST].strip()
    context = {"q": wanted, "found": search(wanted, 30) if wanted else []}
    if request.htmx and not request.htmx.history_restore_request:
        return render(request, "foods/found_part.html", context)
    page = Paginator(OwnFood.objects.kept().order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "foods/foods.html", context | {"page": page, "kept": ""})


def pick_food(request: HttpRequest) -> HttpResponse:
    """Return names that fit what is typed, as options of an input; the field may have any name."""
    wanted = next((value for name, value in request.GET.items() if name.endswith(("food", "like"))), "")
    found = search(wanted[:LONGEST], SUGGESTED) if wanted.strip() else []
    return render(request, "foods/options_part.html", {"names": [food.name for food in found]})
