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
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import try_to_save
from drystow.web.kit.words import sentence_again
from drystow.web.plans.models import Season
from drystow.web.plans.planforms import price_initial
from drystow.web.plans.request import kitchen_forms
from drystow.web.season.example import save_example, save_first_choice
from drystow.web.season.forms import SeasonForm, season_initial, season_values
from drystow.web.season.season_view import kept_season, season_view
from drystow.web.season.trying import QUEUE, known_season

A_PAGE = 50
WEEKS, ROUNDS = 22, 20


@right(reads="viewer", forms="helper")
def show_seasons(request: HttpRequest) -> HttpResponse:
    """Show the seasons, the newest first."""
    grows = Q(crops__binned_at=None)
    rows = Season.objects.kept().annotate(count=Count("crops", grows), mass=Sum("crops__mass_kg", filter=grows))
    page = Paginator(rows.order_by("-begin", "-pk"), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "season/seasons.html", {"page": page})


@right(reads="viewer", writes="helper")
def new_season(request: HttpRequest) -> HttpResponse:
    """Begin a season with nothing in it but the dryers of the kitchen."""
    begin = timezone.localdate()
    initial = {
        "title": _("Garden in {year}").format(year=begin.year + (begin.month > 6)),
        "begin": begin.replace(year=begin.year + (begin.month > 6), month=5, day=18),
        "weeks": WEEKS,
        "rounds": ROUNDS,
        "seed": 1,
        "price": kitchen().tariff_per_kwh,
        "apart": ("smells", "colours"),
    }
    form, prices = kitchen_forms(request, SeasonForm, initial, [])
    if request.method == "POST" and form.is_valid() and prices.is_valid():
        season = Season(**season_values(form, prices, kitchen().tariff_per_kwh))
        made = try_to_save(form, lambda: _begin(season, person(request)))
        if made is not None:
            saved(request, made, _("Season started. Now add your crops."))
            return redirect("season-crops", made.pk)
    return render(request, "season/new.html", {"form": form, "prices": prices})


@right(writes="helper")
def example_season(request: HttpRequest) -> HttpResponse:
    """Begin with the example garden."""
    made = save_example(timezone.localdate(), _dryers(), person(request))
    saved(request, made, _("A made-up garden to look around in. Change what is different in yours."))
    return redirect("season-crops", made.pk)


@right(reads="viewer", writes="helper")
def edit_season(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the weeks of a season, and what is there for it."""
    season, usual = kept_season(pk), kitchen().tariff_per_kwh
    initial = season_initial(season)
    if not season.tariff:
        initial["price"] = usual
    form, prices = kitchen_forms(request, SeasonForm, initial, price_initial(season.tariff))
    if request.method == "POST" and form.is_valid() and prices.is_valid():
        changes = season_values(form, prices, usual)
        written = try_to_save(
            form,
            lambda: records.change(season, changes, expected=form.expected, who=person(request), words=msg("season")),
        )
        if written is not None:
            saved(request, written, _("Season saved."))
            return redirect("season-edit", pk)
    context = {"form": form, "prices": prices, "season": season, "here": "edit"}
    return render(request, "season/edit.html", context)


@right(writes="helper")
def bin_season(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a season in the bin."""
    binned = records.put_in_bin(kept_season(pk), who=person(request), words=msg("season moved to trash"))
    saved(request, binned, _("“{title}” is in the trash.").format(title=binned.title))
    return redirect("seasons")


def _dryers() -> list[Dryer]:
    return list(Dryer.objects.kept().order_by("name")[:MOST_DRYERS])


def _begin(season: Season, who: str) -> Season:
    with records.one_action():
        made = records.create(season, who=who, words=msg("new season"))
        save_first_choice(made, _dryers(), who)
    return made


@right(reads="viewer", forms="helper")
def show_season(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the answer of a season, as a page or, for htmx, its part that changes."""
    season = kept_season(pk)
    known = known_season(season)
    result = known.row.result if known.row is not None else {}
    context = {
        "season": season,
        "here": "season",
        "known": known,
        "no_crops": known.basis is not None and not known.basis.crops,
        "no_choices": known.basis is not None and not known.basis.choices,
        "problems": [_problem(pk, one) for one in result.get("problems", ())],
        "shown": season_view(result, units_of(request), kitchen().currency),
    }
    return render(request, "season/part.html" if only_part(request) else "season/season.html", context)


@right(writes="helper")
def try_season(_request: HttpRequest, pk: int) -> HttpResponse:
    """Have a season tried out; the answer that is there stays until then."""
    QUEUE.ask(kept_season(pk).pk)
    return redirect("season", pk)


def _problem(pk: int, one: dict[str, Any]) -> dict[str, str]:
    """Return a problem with the address of the page on which it is mended."""
    url = reverse(one["page"], args=(pk, one["pk"])) if "page" in one else ""
    return {"words": sentence_again(one), "name": one.get("name", ""), "url": url}
