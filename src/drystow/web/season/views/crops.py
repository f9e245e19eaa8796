"""What grows and which dryers might be there: crops and choices of a season, adding one, changing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.planning.season.garden_file import MOST_CHOICES, MOST_CROPS
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, find_foods
from drystow.web.dryers.adapters import dryer_in_words
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.kit.forms import show_typed
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import save_row
from drystow.web.plans.lotforms import PER, worth_label
from drystow.web.plans.models import Choice, Crop, Season
from drystow.web.plans.waiting import usual_words
from drystow.web.season.forms import ChoiceForm, CropForm, choice_initial, crop_initial, season_span
from drystow.web.season.season_view import kept_season
from drystow.web.season.spec import dryer_names, season_basis


@right(reads="viewer", writes="helper")
def show_crops(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what grows; a POST adds a crop; htmx asks for the found foods only."""
    season = kept_season(pk)
    text = request.GET.get("q", "").strip()[:120]
    found = find_foods(text) if text else []
    if only_part(request):
        part = {"add_to": reverse("season-crops", args=[season.pk]), "found": found, "q": text}
        return render(request, "foods/found_to_add.html", part)
    ref = (request.POST if request.method == "POST" else request.GET).get("food", "")[:140]
    chosen, form = _chosen(ref), None
    crops = list(Crop.objects.kept().filter(season=season))
    if chosen is not None:
        post = request.POST if request.method == "POST" else None
        form = CropForm(post, units=units_of(request), initial=_initial(season, ref), season=season)
    elif ref:
        found, text = find_foods(ref), ref
    if form is not None and chosen is not None and request.method == "POST" and form.is_valid():
        if len(crops) >= MOST_CROPS:
            form.add_error(None, _("A season can have up to {most} crops.").format(most=MOST_CROPS))
        else:
            values = form.values(chosen.name) | {"season": season}
            words = msg("crop: {food}", food=values["name"])
            made = save_row(form, Crop, None, values, who=person(request), words=words)
            if made is not None:
                saved(request, made, _("{food} added to the season.").format(food=made.name))
                return redirect("season-crops", pk)
    foods = foods_of(crop.food for crop in crops)
    units = units_of(request)
    context: dict[str, Any] = {
        "season": season, "here": "crops", "q": text, "found": found, "form": form, "chosen": chosen,
        "usual": usual_words(chosen) if chosen else "", "worth": worth_label(units),
        "rows": [{"crop": one, "food": foods[one.food], "worth": one.value_per_kg * PER[units]} for one in crops],
        "mass": sum(crop.mass_kg for crop in crops),
    }  # fmt: skip
    return render(request, "season/crops.html", context)


@right(reads="viewer", writes="helper")
def edit_crop(request: HttpRequest, pk: int, crop_pk: int) -> HttpResponse:
    """Change a crop."""
    season = kept_season(pk)
    crop = get_object_or_404(Crop.objects.kept(), pk=crop_pk, season=season)
    food = food_of(crop.food)
    post = request.POST if request.method == "POST" else None
    form = CropForm(post, units=units_of(request), initial=crop_initial(crop, units_of(request)), season=season)
    show_typed(form, crop)
    if request.method == "POST" and form.is_valid():
        words = msg("crop: {food}", food=crop.name)
        written = save_row(form, Crop, crop, form.values(food.name), who=person(request), words=words)
        if written is not None:
            saved(request, written, _("{food} saved.").format(food=written.name))
            return redirect("season-crops", pk)
    context = {"season": season, "here": "crops", "form": form, "crop": crop, "chosen": food}
    return render(request, "season/crop.html", context | {"usual": usual_words(food)})


@right(writes="helper")
def remove_crop(request: HttpRequest, pk: int, crop_pk: int) -> HttpResponse:
    """Take a crop out of a season."""
    crop = get_object_or_404(Crop.objects.kept(), pk=crop_pk, season=kept_season(pk))
    binned = records.put_in_bin(crop, who=person(request), words=msg("removed from the season: {food}", food=crop.name))
    saved(request, binned, _("{food} removed from the season.").format(food=crop.name))
    return redirect("season-crops", pk)


def _initial(season: Season, ref: str) -> dict[str, Any]:
    begin, end = season_span(season)
    third = (end - begin) / 3
    days = {"first": begin + third, "peak": begin + (end - begin) / 2, "last": begin + 2 * third}
    return days | {"food": ref, "size": USUAL_SIZE, "value": 1, "uncertain": 0.25, "per_week": 2}


def _chosen(ref: str) -> Food | None:
    try:
        return food_of(ref) if ref else None
    except InputError:
        return None


USUAL_YEARS = 10


@right(reads="viewer", writes="helper")
def show_choices(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the choices; a POST adds one."""
    season = kept_season(pk)
    basis = season_basis(season)
    post = request.POST if request.method == "POST" else None
    initial = {"years": USUAL_YEARS, "price": 0}
    form = ChoiceForm(post, units=units_of(request), initial=initial, dryers=_dryers())
    if request.method == "POST" and form.is_valid():
        if len(basis.choices) >= MOST_CHOICES:
            form.add_error(None, _("A season can have up to {most} choices.").format(most=MOST_CHOICES))
        else:
            values = form.values() | {"season": season}
            words = msg("choice of dryers: {name}", name=values["name"])
            made = save_row(form, Choice, None, values, who=person(request), words=words)
            if made is not None:
                saved(request, made, _("“{name}” is in the season.").format(name=made.name))
                return redirect("season-choices", pk)
    rows = [
        {"choice": choice, "dryers": [*map(dryer_in_words, dryer_names(basis, choice))]} for choice in basis.choices
    ]
    return render(request, "season/choices.html", {"season": season, "here": "choices", "form": form, "rows": rows})


@right(reads="viewer", writes="helper")
def edit_choice(request: HttpRequest, pk: int, choice_pk: int) -> HttpResponse:
    """Change a choice."""
    season = kept_season(pk)
    choice = get_object_or_404(Choice.objects.kept(), pk=choice_pk, season=season)
    post = request.POST if request.method == "POST" else None
    form = ChoiceForm(post, units=units_of(request), initial=choice_initial(choice), dryers=_dryers())
    if request.method == "POST" and form.is_valid():
        words = msg("choice of dryers: {name}", name=choice.name)
        written = save_row(form, Choice, choice, form.values(), who=person(request), words=words)
        if written is not None:
            saved(request, written, _("“{name}” saved.").format(name=written.name))
            return redirect("season-choices", pk)
    context = {"season": season, "here": "choices", "form": form, "choice": choice}
    return render(request, "season/choice.html", context)


@right(writes="helper")
def remove_choice(request: HttpRequest, pk: int, choice_pk: int) -> HttpResponse:
    """Take a choice out of a season."""
    choice = get_object_or_404(Choice.objects.kept(), pk=choice_pk, season=kept_season(pk))
    binned = records.put_in_bin(
        choice, who=person(request), words=msg("removed from the season: {food}", food=choice.name)
    )
    saved(request, binned, _("“{name}” removed from the season.").format(name=choice.name))
    return redirect("season-choices", pk)


def _dryers() -> list[Dryer]:
    return list(Dryer.objects.kept().order_by("name"))
