"""Which dryers might be there: the choices of a season, adding one, changing one."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.messages import msg
from drystow.planning.season.garden_file import MOST_CHOICES
from drystow.web.batches.request import units_of
from drystow.web.dryers.adapters import dryer_in_words
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import save_row
from drystow.web.plans.models import Choice
from drystow.web.season.forms import ChoiceForm, choice_initial
from drystow.web.season.request import kept_season
from drystow.web.season.spec import dryer_names, season_basis

USUAL_YEARS = 10


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
    return render(
        request, "plans/season_choices.html", {"season": season, "here": "choices", "form": form, "rows": rows}
    )


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
    return render(request, "plans/season_choice.html", context)


@require_POST
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
