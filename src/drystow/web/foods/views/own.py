"""Foods of the kitchen: from a nutrition label or from a measured moisture."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods.table import get
from drystow.web.accounts.rights import right
from drystow.web.foods.forms import WAYS
from drystow.web.foods.markfields import careful
from drystow.web.foods.models import OwnFood
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show


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
