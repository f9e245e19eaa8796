"""What grows: the crops of a season, adding one, changing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.planning.season.garden_file import MOST_CROPS
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, find_foods
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import save_row
from drystow.web.kit.typed import show_typed
from drystow.web.plans.lotforms import PER, worth_label
from drystow.web.plans.models import Crop, Season
from drystow.web.plans.waiting import usual_words
from drystow.web.season.forms import CropForm, crop_initial, season_span
from drystow.web.season.request import kept_season


def show_crops(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what grows; a POST adds a crop; htmx asks for the found foods only."""
    season = kept_season(pk)
    text = request.GET.get("q", "").strip()[:120]
    found = find_foods(text) if text else []
    if only_part(request):
        return render(request, "plans/parts/season_found.html", {"season": season, "found": found, "q": text})
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
    return render(request, "plans/season_crops.html", context)


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
    return render(request, "plans/season_crop.html", context | {"usual": usual_words(food)})


@require_POST
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
