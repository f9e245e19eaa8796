"""Rows that are only ever added: a later one corrects an earlier one, or it is struck out; both stay visible."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.numerals import whole_in
from drystow.web.accounts.rights import right
from drystow.web.batches.models import Batch, PressureRise, Sample, Seen, Weighing
from drystow.web.batches.request import kept_batch
from drystow.web.kit import records
from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.notices import person, saved


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
    page: Callable[[KitchenForm], HttpResponse],
) -> HttpResponse | None:
    """Add a row, or one that corrects an earlier one; return the page with the form, None when the row is saved.

    make: the form
    page: shows it
    """
    number = whole_in(request.POST.get("corrects") or request.GET.get("correct") or "")
    old = get_object_or_404(kind.model, pk=number, batch=batch) if number is not None else None
    struck = old is not None and old.binned_at is not None
    again = struck or (old is not None and hasattr(old, "corrected_by"))
    refusal = _("This was crossed out; tap “Count it again” first.") if struck else kind.again
    if request.method != "POST":
        return page(make(initial=None if old is None or again else kind.initial(old)))
    form = make(request.POST)
    if form.is_valid() and again:
        form.add_error(None, refusal)
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


STRUCK: dict[str, tuple[type[Seen], str, str]] = {
    "weighing": (Weighing, msg("weighing crossed out"), msg("weighing counted again")),
    "sample": (Sample, msg("sample crossed out"), msg("sample counted again")),
    "rise": (PressureRise, msg("pressures crossed out"), msg("pressures counted again")),
}
"""What can be struck out, with what the history says."""


@right(writes="helper")
def strike(request: HttpRequest, pk: int, name: str, row_pk: int) -> HttpResponse:
    """Strike out something that was seen, or put it back: struck out it stays visible and has no part in any answer."""
    if name not in STRUCK:
        raise Http404
    batch = kept_batch(pk)
    model, out, back = STRUCK[name]
    row = get_object_or_404(model, pk=row_pk, batch=batch)
    if request.POST.get("do") == "back":
        saved(request, records.take_back(row, who=person(request), words=back), _("Counted again."))
    else:
        words = _("Crossed out. It stays in the list and no longer counts.")
        saved(request, records.put_in_bin(row, who=person(request), words=out), words)
    if name == "weighing" and batch.stage != "proof":
        return redirect(reverse("batch-running", args=[pk]) + "#weigh")
    return redirect(reverse("batch-proof", args=[pk]) + ("#weighings" if name == "weighing" else f"#{name}"))
