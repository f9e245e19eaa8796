"""Begin a batch, change what it is called, move it to the next stage."""

from urllib.parse import urlencode

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.forms import BatchForm, next_lot
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch
from drystow.web.batches.proved import Risk, confirm, risks_of
from drystow.web.batches.request import kept_batch
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person
from drystow.web.kit.record_forms import bin_view, page_with, save_or_show

FORWARD = ("trays", "program", "proof", "packing")
"""Stages to which a button leads; starting and ending a run lead to the others."""

ASIDE = ("basket", "trays", "program")
"""Stages before the run, between which a batch may go back and forth."""


@right(reads="viewer", writes="helper")
def new_batch(request: HttpRequest) -> HttpResponse:
    """Begin a batch."""
    form = BatchForm.of(request, row=Batch(lot=next_lot()))
    wished = request.GET.get("food", "")[:140]
    preset = f"?{urlencode({'food': wished})}" if wished else ""
    page = page_with(request, "batches/new.html", no_dryer=not Dryer.objects.kept().exists())
    return save_or_show(request, form, lambda made: redirect(reverse("batch-basket", args=[made.pk]) + preset), page)


@right(reads="viewer", writes="helper")
def edit_batch(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a batch is called, its dryer, lot and notes."""
    batch = kept_batch(pk)
    page = page_with(request, "batches/edit.html", batch=batch, here="")
    return save_or_show(request, BatchForm.of(request, row=batch), "batch", page)


bin_batch = right(writes="helper")(bin_view(Batch, lambda row: redirect("batches"), find=kept_batch))


@right(writes="helper")
def move_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a batch to the next stage and show that."""
    batch = kept_batch(pk)
    stage = request.POST.get("stage", "")
    if stage not in FORWARD:
        return HttpResponseBadRequest(_("There is no such stage."))
    names = [name for name, _words in Batch.STAGES]
    begun = batch.started_at is not None
    ahead = names.index(stage) > names.index(batch.stage)
    if ahead and begun == (stage not in ASIDE):
        risks = _not_known_to_be_dry(batch) if stage == "packing" else []
        if risks and not request.POST.get("confirmed"):
            messages.error(
                request, _("No one knows yet that everything is dry. Keep drying, or tick below to go on anyway.")
            )
            return redirect(reverse("batch-proof", args=[pk]) + "#decide")
        with transaction.atomic(), records.one_action():
            confirm(batch, risks, packed=False, who=person(request))
            records.change(
                batch,
                {"stage": stage},
                expected=batch.version,
                who=person(request),
                words=msg("on to {stage}", stage=stage),
            )
    return redirect(f"batch-{stage}" if stage in ASIDE else "batch", pk)


def _not_known_to_be_dry(batch: Batch) -> list[Risk]:
    loads = tray_loads(batch)
    known = answer_state(batch, loads)
    return risks_of(known, known.found, loads)
