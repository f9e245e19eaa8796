"""What grows and which dryers might be there: crops and choices of a season, adding one, changing one."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, ref_of, search_food
from drystow.web.dryers.adapters import dryer_in_words
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.plans.fields import PER
from drystow.web.plans.lotforms import worth_label
from drystow.web.plans.models import Choice, Crop, Season
from drystow.web.plans.waiting import usual_words
from drystow.web.season.forms import ChoiceForm, CropForm, season_span
from drystow.web.season.season_view import kept_season
from drystow.web.season.spec import dryer_names, season_basis


@right(reads="viewer", writes="helper")
def show_crops(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what grows; a POST adds a crop; htmx asks for the found foods only."""
    season, ref = kept_season(pk), ref_of(request)
    chosen, search = search_food(request, "season-crops", pk, ref)
    if only_part(request):
        return render(request, "foods/found_to_add.html", search)

    def page(form: CropForm | None) -> HttpResponse:
        crops = list(Crop.objects.kept().filter(season=season))
        foods, units = foods_of(crop.food for crop in crops), units_of(request)
        context: dict[str, Any] = {
            "season": season, "here": "crops", "form": form, **search,
            "usual": usual_words(chosen) if chosen else "", "worth": worth_label(units),
            "rows": [{"crop": one, "food": foods[one.food], "worth": one.value_per_kg * PER[units]} for one in crops],
            "mass": sum(crop.mass_kg for crop in crops),
        }  # fmt: skip
        return render(request, "season/crops.html", context)

    if chosen is None:
        return page(None)
    form = CropForm.of(request, row=_begun(season, ref), usual_name=chosen.name, initial={"value": 1})
    return save_or_show(request, form, redirect("season-crops", pk), page)


@right(reads="viewer", writes="helper")
def edit_crop(request: HttpRequest, pk: int, crop_pk: int) -> HttpResponse:
    """Change a crop."""
    crop = _crop(pk, crop_pk)
    food = food_of(crop.food)
    context = {"season": crop.season, "here": "crops", "crop": crop, "chosen": food, "usual": usual_words(food)}
    form = CropForm.of(request, row=crop, usual_name=food.name)
    return save_or_show(request, form, redirect("season-crops", pk), page_with(request, "season/crop.html", **context))


def _crop(pk: int, crop_pk: int) -> Crop:
    return get_object_or_404(Crop.objects.kept(), pk=crop_pk, season=kept_season(pk))


remove_crop = right(writes="helper")(
    bin_view(
        Crop,
        lambda crop: redirect("season-crops", crop.season_id),
        says=msg("{food} removed from the season.", food=""),
        find=_crop,
    )
)


def _begun(season: Season, ref: str) -> Crop:
    begin, end = season_span(season)
    third = (end - begin) / 3
    days = {"first": begin + third, "peak": begin + (end - begin) / 2, "last": begin + 2 * third}
    return Crop(season=season, food=ref, size_m=USUAL_SIZE, **days)


@right(reads="viewer", writes="helper")
def show_choices(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the choices; a POST adds one."""
    season = kept_season(pk)

    def page(form: ChoiceForm) -> HttpResponse:
        basis = season_basis(season)
        rows = [{"choice": one, "dryers": [*map(dryer_in_words, dryer_names(basis, one))]} for one in basis.choices]
        context = {"season": season, "here": "choices", "form": form, "rows": rows}
        return render(request, "season/choices.html", context)

    form = ChoiceForm.of(request, row=Choice(season=season), dryers=_dryers())
    return save_or_show(request, form, redirect("season-choices", pk), page)


@right(reads="viewer", writes="helper")
def edit_choice(request: HttpRequest, pk: int, choice_pk: int) -> HttpResponse:
    """Change a choice."""
    choice = _choice(pk, choice_pk)
    form = ChoiceForm.of(request, row=choice, dryers=_dryers())
    page = page_with(request, "season/choice.html", season=choice.season, here="choices", choice=choice)
    return save_or_show(request, form, redirect("season-choices", pk), page)


def _choice(pk: int, choice_pk: int) -> Choice:
    return get_object_or_404(Choice.objects.kept(), pk=choice_pk, season=kept_season(pk))


remove_choice = right(writes="helper")(
    bin_view(
        Choice,
        lambda choice: redirect("season-choices", choice.season_id),
        says=msg("“{name}” removed from the season.", name=""),
        find=_choice,
    )
)


def _dryers() -> list[Dryer]:
    return list(Dryer.objects.kept().order_by("name"))
