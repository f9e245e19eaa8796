"""What was seen is struck out, or counted again: struck out it stays visible and has no part in any answer."""

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
    """Strike out something that was seen, or put it back."""
    if name not in STRUCK:
        raise Http404
    batch = kept_batch(pk)
    row = get_object_or_404(STRUCK[name], pk=row_pk, batch=batch)
    during = name == "weighing" and batch.stage != "proof"
    part = "weigh" if during else {"weighing": "weighings"}.get(name, name)
    back = redirect(f"{reverse('batch-running' if during else 'batch-proof', args=[pk])}#{part}")
    if request.POST.get("do") != "back":
        words = msg("Crossed out. It stays in the list and no longer counts.")
        return to_bin(request, row, lambda row: back, words)
    saved(request, records.take_back(row, who=person(request), words=msg("Counted again.")))
    return back
