"""Add a dryer, change its numbers."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from drystow.machine.profile import dryer_profile, profile_names
from drystow.web.accounts.rights import right
from drystow.web.dryers.adapters import shown_numbers
from drystow.web.dryers.forms import DryerForm
from drystow.web.dryers.models import Dryer
from drystow.web.kit.reader import wished_units
from drystow.web.kit.record_forms import page_with, save_or_show
from drystow.web.kit.records import kitchen


@right(reads="viewer", writes="owner")
def add_dryer(request: HttpRequest) -> HttpResponse:
    """Choose the nearest size, then name the dryer and put in its numbers."""
    chosen = request.POST.get("profile") or request.GET.get("profile", "")
    if chosen not in profile_names():
        units = wished_units(request, kitchen().units)
        sizes = [(name, dryer_profile(name), shown_numbers(dryer_profile(name), units)) for name in profile_names()]
        return render(request, "dryers/sizes.html", {"sizes": sizes})
    return _edit(request, Dryer(profile=chosen), _("Add a dryer"))


@right(reads="viewer", writes="owner")
def edit_dryer(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a dryer."""
    row = get_object_or_404(Dryer.objects.kept(), pk=pk)
    return _edit(request, row, _("Edit {name}").format(name=row.name))


def _edit(request: HttpRequest, row: Dryer, title: str) -> HttpResponse:
    form = DryerForm.of(request, row=row)
    page = page_with(request, "dryers/dryer_form.html", title=title)
    return save_or_show(request, form, "dryer", page)
