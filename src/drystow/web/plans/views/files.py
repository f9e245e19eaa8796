"""A plan as a plan file, out and in; and a copy of a plan."""

import math
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputError, InputErrors
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import kitchen_zone
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import in_words, problem_words
from drystow.web.plans.local_time import kitchen_time, moment
from drystow.web.plans.lots_file import plan_from_text, plan_text
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.planforms import usual_title
from drystow.web.plans.request import dryers_of, kept_plan, lots_of

WEEK = 7
COPIED = msg("Plan copied: all days are moved, service stops left out.")
OWN = ("id", "version", "created_at", "changed_at", "binned_at")


def copy_plan(plan: Plan, zone: tzinfo, who: str) -> Plan:
    """Return a new plan for the weeks after a plan: the same food on the same days of the week, no stops for service.

    plan: the one before
    zone: clock of the kitchen
    who: makes it
    """
    shift = timedelta(days=WEEK * math.ceil(plan.days / WEEK))
    begin = plan.begin + shift
    with records.one_action():
        fields = _fields(plan) | {"begin": begin, "title": _title(plan, begin)}
        made = records.create(Plan(**fields), who=who, words=COPIED)
        for row in dryers_of(plan):
            records.create(PlanDryer(**_fields(row) | {"plan_id": made.pk, "stops": []}), who=who, words=COPIED)
        for lot in lots_of(plan):
            moved = {name: _later(getattr(lot, name), shift, zone) for name in ("arrives", "ready_by")}
            records.create(Lot(**_fields(lot) | moved | {"plan_id": made.pk}), who=who, words=COPIED)
    return made


def _fields(row: Plan | PlanDryer | Lot) -> dict[str, Any]:
    columns = (field.attname for field in row._meta.concrete_fields)
    return {name: getattr(row, name) for name in columns if name not in OWN}


def _title(plan: Plan, begin: date) -> str:
    """Return the title of the copy: after its own first day where that was the title, else the same."""
    return usual_title(begin) if plan.title == usual_title(plan.begin) else plan.title


def _later(at: datetime | None, shift: timedelta, zone: tzinfo) -> datetime | None:
    return None if at is None else moment(kitchen_time(at, zone) + shift, zone)


LARGEST = 200_000  # plan file [bytes]


class LotsFileForm(forms.Form):
    """A plan file to make a plan of."""

    lots_file = forms.FileField(
        label=lazy("Plan file"), help_text=lazy("A .toml file, saved from a plan or written by hand.")
    )

    def clean_lots_file(self) -> str:
        """Return the text of the file."""
        file = self.cleaned_data["lots_file"]
        if file.size > LARGEST:
            raise forms.ValidationError(_("This is over 200 kB, but a plan file is a few pages of text."))
        try:
            text: str = file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise forms.ValidationError(_("This is not a text file in UTF-8. Is it the right file?")) from None
        return text


@right(reads="viewer")
def file_out(_request: HttpRequest, pk: int) -> HttpResponse:
    """Send a plan as a plan file, ready for ``drystow plan``."""
    plan = kept_plan(pk)
    response = HttpResponse(plan_text(plan), content_type="text/plain; charset=utf-8")
    name = slugify(plan.title)[:60] or str(plan.pk)
    response.headers["Content-Disposition"] = f'attachment; filename="plan-{name}.toml"'
    return response


@right(reads="viewer", writes="helper")
def file_in(request: HttpRequest) -> HttpResponse:
    """Make a plan of a plan file."""
    form = LotsFileForm(request.POST, request.FILES) if request.method == "POST" else LotsFileForm()
    if request.method == "POST" and form.is_valid():
        try:
            plan, notes = plan_from_text(form.cleaned_data["lots_file"], who=person(request))
        except (InputError, InputErrors) as error:
            for problem in error.problems:
                form.add_error("lots_file", problem_words(problem))
        else:
            words = _("The plan “{title}” was made from the plan file.").format(title=plan.title)
            saved(request, plan, " ".join((words, *map(in_words, notes))))
            return redirect("plan-lots", plan.pk)
    return render(request, "plans/file.html", {"form": form})


@right(writes="helper")
def copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a plan for the weeks after this one."""
    plan = kept_plan(pk)
    made = copy_plan(plan, kitchen_zone(kitchen().time_zone), person(request))
    saved(request, made, advice=_("Change here what will be different."))
    return redirect("plan-lots", made.pk)
