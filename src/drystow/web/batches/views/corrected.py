"""What was seen is struck out, or counted again: struck out it stays visible and has no part in any answer."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.models import PressureRise, Sample, Seen, Weighing
from drystow.web.batches.request import kept_batch
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import to_bin

STRUCK: dict[str, type[Seen]] = {"weighing": Weighing, "sample": Sample, "rise": PressureRise}
"""What can be struck out."""


@right(writes="helper")
def strike(request: HttpRequest, pk: int, name: str, row_pk: int) -> HttpResponse:
    """Strike out something that was seen."""
    words = msg("Crossed out. It stays in the list and no longer counts.")
    return to_bin(request, _seen(pk, name, row_pk), _back, words)


@right(writes="helper")
def count_again(request: HttpRequest, pk: int, name: str, row_pk: int) -> HttpResponse:
    """Count again what was struck out."""
    row = records.take_back(_seen(pk, name, row_pk), who=person(request), words=msg("Counted again."))
    saved(request, row)
    return _back(row)


def _seen(pk: int, name: str, row_pk: int) -> Seen:
    if name not in STRUCK:
        raise Http404
    return get_object_or_404(STRUCK[name], pk=row_pk, batch=kept_batch(pk))


def _back(row: Any) -> HttpResponse:
    """Return to the list in which it stands."""
    during = isinstance(row, Weighing) and row.batch.stage != "proof"
    part = "weigh" if during else {Weighing: "weighings", Sample: "sample", PressureRise: "rise"}[type(row)]
    return redirect(f"{reverse('batch-running' if during else 'batch-proof', args=[row.batch_id])}#{part}")
