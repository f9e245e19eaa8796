"""A season tried out: is it enough, would it pay, week by week, and how it was worked out."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from drystow.web.batches.request import only_part, units_of
from drystow.web.kit.records import household
from drystow.web.kit.words import sentence_again
from drystow.web.season.request import kept_season
from drystow.web.season.season_view import season_view
from drystow.web.season.trying import QUEUE, known_season


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
        "shown": season_view(result, units_of(request), household().currency),
    }
    return render(request, "plans/season_part.html" if only_part(request) else "plans/season.html", context)


@require_POST
def try_season(_request: HttpRequest, pk: int) -> HttpResponse:
    """Have a season tried out; the answer that is there stays until then."""
    QUEUE.ask(kept_season(pk).pk)
    return redirect("season", pk)


def _problem(pk: int, one: dict[str, Any]) -> dict[str, str]:
    """Return a problem with the address of the page on which it is mended."""
    url = reverse(one["page"], args=(pk, one["pk"])) if "page" in one else ""
    return {"words": sentence_again(one), "name": one.get("name", ""), "url": url}
