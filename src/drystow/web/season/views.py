"""Pages of the seasons: weeks and hours, what grows, which dryers might be there, the answer, the trash."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_DRYERS
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.batches.views.basket import USUAL_SIZE, ref_of, search_food
from drystow.web.dryers.adapters import dryer_in_words
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import food_of, foods_of
from drystow.web.kit import records
from drystow.web.kit.answers import Problem
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.plans.fields import PER
from drystow.web.plans.lotforms import worth_label
from drystow.web.plans.models import Choice, Crop, Season
from drystow.web.plans.waiting import usual_words
from drystow.web.season.example import save_example, save_first_choice
from drystow.web.season.forms import ChoiceForm, CropForm, SeasonForm, season_span
from drystow.web.season.spec import dryer_names, season_basis
from drystow.web.season.trying import SEASON, kept_season, known_season, season_view

A_PAGE = 50
WEEKS, ROUNDS = 22, 20


@right(reads="viewer", forms="helper")
def show_seasons(request: HttpRequest) -> HttpResponse:
    """Show the seasons, the newest first."""
    grows = Q(crops__binned_at=None)
    rows = Season.objects.kept().annotate(count=Count("crops", grows), mass=Sum("crops__mass_kg", filter=grows))
    page = Paginator(rows.order_by("-begin", "-pk"), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "season/seasons.html", {"page": page})


class NewSeasonForm(SeasonForm):
    """A season with nothing in it but the dryers of the kitchen."""

    def write(self, changes: dict[str, Any], who: str) -> Season:
        """Save the season with its first choice."""
        with records.one_action():
            made: Season = super().write(changes, who)
            save_first_choice(made, _dryers(), who, self.said)
        return made


@right(reads="viewer", writes="helper")
def new_season(request: HttpRequest) -> HttpResponse:
    """Begin a season."""
    today = timezone.localdate()
    year = today.year + (today.month > 6)
    row = Season(title=_("Garden in {year}").format(year=year), begin=today.replace(year=year, month=5, day=18),
                 weeks=WEEKS, rounds=ROUNDS, apart=["smells", "colours"])  # fmt: skip
    form = NewSeasonForm.of(request, row=row)
    return save_or_show(request, form, "season-crops", page_with(request, "season/new.html"))


@right(writes="helper")
def example_season(request: HttpRequest) -> HttpResponse:
    """Begin with the example garden."""
    made = save_example(timezone.localdate(), _dryers(), person(request))
    saved(request, made)
    return redirect("season-crops", made.pk)


@right(reads="viewer", writes="helper")
def edit_season(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the weeks of a season, and what is there for it."""
    form = SeasonForm.of(request, row=kept_season(pk))
    page = page_with(request, "season/edit.html", season=form.row, here="edit")
    return save_or_show(request, form, "season-edit", page)


bin_season = right(writes="helper")(
    bin_view(
        Season, lambda row: redirect("seasons"), says=msg("“{title}” is in the trash.", title=""), find=kept_season
    )
)


def _dryers() -> list[Dryer]:
    return list(Dryer.objects.kept().order_by("name")[:MOST_DRYERS])


@right(reads="viewer", forms="helper")
def show_season(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the answer of a season, as a page or, for htmx, its part that changes."""
    season = kept_season(pk)
    known = known_season(season)
    tried = None if known.row is None else known.row.result
    context = {
        "season": season,
        "here": "season",
        "known": known,
        "no_crops": known.basis is not None and not known.basis.crops,
        "no_choices": known.basis is not None and not known.basis.choices,
        "problems": [_problem(pk, one) for one in (() if known.row is None else known.row.problems)],
        "shown": None if tried is None else season_view(tried, units_of(request), kitchen().currency),
    }
    return render(request, "season/part.html" if only_part(request) else "season/season.html", context)


@right(writes="helper")
def try_season(_request: HttpRequest, pk: int) -> HttpResponse:
    """Have a season tried out; the answer that is there stays until then."""
    SEASON.ask(kept_season(pk).pk)
    return redirect("season", pk)


def _problem(pk: int, one: Problem) -> dict[str, str]:
    """Return a problem with the address of the page on which it is mended."""
    return {"words": one.words, "name": one.name, "url": reverse(one.page, args=(pk, one.pk)) if one.page else ""}


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

    form = ChoiceForm.of(request, row=Choice(season=season), dryers=_all_dryers())
    return save_or_show(request, form, redirect("season-choices", pk), page)


@right(reads="viewer", writes="helper")
def edit_choice(request: HttpRequest, pk: int, choice_pk: int) -> HttpResponse:
    """Change a choice."""
    choice = _choice(pk, choice_pk)
    form = ChoiceForm.of(request, row=choice, dryers=_all_dryers())
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


def _all_dryers() -> list[Dryer]:
    return list(Dryer.objects.kept().order_by("name"))
