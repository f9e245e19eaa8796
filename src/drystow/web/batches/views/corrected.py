"""Rows that are only ever added: a later one corrects an earlier one, which stays visible."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from drystow.numerals import whole_in
from drystow.web.batches.models import Batch
from drystow.web.site.forms import HouseForm
from drystow.web.site.notices import person, saved


@dataclass(frozen=True)
class Kind:
    """A kind of such rows.

    model: of a row, with `corrects`
    initial: what the form shows of a row that is corrected
    noted: told after a new row
    corrected: told after one that corrects
    again: told where the old row was corrected before
    """

    model: type[Any]
    initial: Callable[[Any], dict[str, Any]]
    noted: str
    corrected: str
    again: str


def add_or_correct(
    request: HttpRequest,
    batch: Batch,
    kind: Kind,
    make: Callable[..., Any],
    page: Callable[[HouseForm], HttpResponse],
) -> HttpResponse | None:
    """Add a row, or one that corrects an earlier one; return the page with the form, None when the row is saved.

    make: the form
    page: shows it
    """
    number = whole_in(request.POST.get("corrects") or request.GET.get("correct") or "")
    old = get_object_or_404(kind.model, pk=number, batch=batch) if number is not None else None
    again = old is not None and hasattr(old, "corrected_by")
    if request.method != "POST":
        return page(make(initial=None if old is None or again else kind.initial(old)))
    form = make(request.POST)
    if form.is_valid() and again:
        form.add_error(None, kind.again)
    if not form.is_valid():
        return page(form)
    with transaction.atomic():
        if old is not None:  # one at a time corrects a row
            kind.model.objects.select_for_update().get(pk=old.pk)
            if kind.model.objects.filter(corrects=old).exists():
                form.add_error(None, kind.again)
                return page(form)
        row = kind.model(batch=batch, **form.values(), who=person(request), corrects=old)
        row.full_clean()
        row.save()
    saved(request, None, str(kind.corrected if old else kind.noted))
    return None
