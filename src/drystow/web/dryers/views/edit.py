"""Add a dryer, change its numbers."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from drystow.errors import InputErrors
from drystow.machine.profile import dryer_profile, profile_names
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.dryers.adapters import MAIN_NUMBERS, machine_of, shown_numbers
from drystow.web.dryers.forms import DryerForm
from drystow.web.dryers.models import Dryer
from drystow.web.kit.notices import person, saved
from drystow.web.kit.reader import wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import save_row, tell
from drystow.web.kit.words import in_words

FIELDS = ("name", "profile", "oil_hours_limit", "trap_valve", "notes")


@right(reads="viewer", writes="owner")
def add_dryer(request: HttpRequest) -> HttpResponse:
    """Choose the nearest size, then name the dryer and put in its numbers."""
    chosen = request.POST.get("profile") or request.GET.get("profile", "")
    if chosen not in profile_names():
        units = wished_units(request, kitchen().units)
        sizes = [(name, dryer_profile(name), shown_numbers(dryer_profile(name), units)) for name in profile_names()]
        return render(request, "dryers/sizes.html", {"sizes": sizes})
    return _edit(request, None, chosen, {"profile": chosen, "oil_hours_limit": 150.0})


@right(reads="viewer", writes="owner")
def edit_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a dryer."""
    row = get_object_or_404(Dryer.objects.kept(), pk=pk)
    start = {name: getattr(row, name) for name in FIELDS}
    start |= {"version": row.version} | {
        name: _shown(row.numbers[name]) for name in MAIN_NUMBERS if name in row.numbers
    }
    return _edit(request, row, row.profile, start)


def _shown(number: Any) -> Any:
    """Return a number as it was written, with the decimal sign of the reader."""
    return in_words(number) if isinstance(number, str) else number


def _edit(request: HttpRequest, row: Dryer | None, profile: str, start: dict[str, Any]) -> HttpResponse:
    units = wished_units(request, kitchen().units)
    usual = shown_numbers(dryer_profile(profile), units)
    form = DryerForm(request.POST or None, initial=start, units=units, usual=usual)
    if request.method == "POST" and form.is_valid():
        done = _save(request, form, row)
        if done is not None:
            saved(request, done, _("{name} saved.").format(name=done.name))
            return redirect("dryer", done.pk)
    context = {
        "form": form,
        "row": row,
        "first": [form[name] for name in FIELDS],
        "numbers": [form[name] for name in MAIN_NUMBERS],
        "title": _("Edit {name}").format(name=row.name) if row else _("Add a dryer"),
    }
    return render(request, "dryers/dryer_form.html", context, status=422 if form.is_bound else 200)


def _save(request: HttpRequest, form: DryerForm, row: Dryer | None) -> Any:
    data = form.cleaned_data
    others = {name: value for name, value in row.numbers.items() if name not in MAIN_NUMBERS} if row else {}
    numbers = others | form.numbers()
    try:
        machine_of(data["profile"], numbers)
    except InputErrors as many:
        for problem in many.problems:
            tell(form, problem)
        return None
    values = {name: data[name] for name in FIELDS} | {"numbers": numbers}
    return save_row(form, Dryer, row, values, who=person(request), words=msg("dryer"))
