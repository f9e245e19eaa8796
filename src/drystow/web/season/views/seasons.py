"""All seasons; begin one, change its weeks and hours, put it in the bin."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.planning.schedule.plan_file import MOST_DRYERS
from drystow.web.accounts.rights import right
from drystow.web.batches.request import only_part, units_of
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.answers import Problem
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show
from drystow.web.kit.records import kitchen
from drystow.web.plans.models import Season
from drystow.web.season.example import save_example, save_first_choice
from drystow.web.season.forms import SeasonForm
from drystow.web.season.season_view import kept_season, season_view
from drystow.web.season.trying import SEASON, known_season

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
