"""What every batch view takes from a request: the batch, the person, the units, the clock of the house."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from drystow.web.batches.models import Batch
from drystow.web.site.forms import HouseForm
from drystow.web.site.records import Conflict, Gone, household
from drystow.web.site.wishes import wished_units

View = Callable[..., HttpResponse]


def kept_batch(pk: int) -> Batch:
    """Return a batch with its dryer, or answer that there is none."""
    batch: Batch = get_object_or_404(Batch.objects.kept().select_related("dryer"), pk=pk)
    return batch


def who(request: HttpRequest) -> str:
    """Return the name of the person, or an empty one."""
    user = request.user
    return str(user.get_full_name() or user.get_username()) if user.is_authenticated else ""


def units_of(request: HttpRequest) -> str:
    """Return the units in which this person reads and writes."""
    return wished_units(request, household().units)


def house_time(view: View) -> View:
    """Return the view with all clocks in it in the time zone of the house."""

    @wraps(view)
    def shown(request: HttpRequest, *arguments: Any, **options: Any) -> HttpResponse:
        with timezone.override(_zone()):
            return view(request, *arguments, **options)

    return shown


def show_refusal(form: HouseForm, error: Conflict | Gone) -> None:
    """Put into a form that somebody changed the record meanwhile; saving again then means it."""
    form.add_error(None, str(error))
    if isinstance(error, Conflict):
        form.data = form.data.copy()
        form.data[form.add_prefix("version")] = error.record.version


def _zone() -> ZoneInfo:
    try:
        return ZoneInfo(household().time_zone)
    except (KeyError, ValueError, OSError):
        return ZoneInfo("UTC")
