"""Begin a batch, change what it is called, move it to the next stage."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.units import celsius
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import USUAL_PROGRAM, dryer_of, tray_loads
from drystow.web.batches.forms import BatchForm, next_lot
from drystow.web.batches.judged import judged
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch
from drystow.web.batches.proved import Risk, confirm, risks_of
from drystow.web.batches.request import kept_batch, units_of
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import try_to_save

FORWARD = ("trays", "program", "proof", "packing")
"""Stages to which a button leads; starting and ending a run lead to the others."""

ASIDE = ("basket", "trays", "program")
"""Stages before the run, between which a batch may go back and forth."""


@right(reads="viewer", writes="helper")
def new_batch(request: HttpRequest) -> HttpResponse:
    """Begin a batch."""
    units = units_of(request)
    form = BatchForm(request.POST if request.method == "POST" else None, units=units, initial={"lot": next_lot()})
    if request.method == "POST" and form.is_valid():
        values: dict[str, Any] = {name: form.cleaned_data[name] for name in ("title", "dryer", "lot", "notes")}
        batch = Batch(**values, program=usual_program(values["dryer"]))
        made = try_to_save(form, lambda: records.create(batch, who=person(request), words=msg("new batch")))
        if made is not None:
            saved(request, made, _("Batch started. Now fill the basket."))
            wished = request.GET.get("food", "")[:140]
            preset = f"?{urlencode({'food': wished})}" if wished else ""
            return redirect(reverse("batch-basket", args=[made.pk]) + preset)
    context = {"form": form, "no_dryer": not Dryer.objects.kept().exists()}
    return render(request, "batches/new.html", context)


@right(reads="viewer", writes="helper")
def edit_batch(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a batch is called, its dryer, lot and notes."""
    batch = kept_batch(pk)
    names = ("title", "dryer", "lot", "notes")
    initial = {name: getattr(batch, name) for name in names} | {"version": batch.version}
    post = request.POST if request.method == "POST" else None
    form = BatchForm(post, units=units_of(request), initial=initial, batch=batch)
    if request.method == "POST" and form.is_valid():
        changes = {name: form.cleaned_data[name] for name in names}
        written = try_to_save(
            form,
            lambda: records.change(batch, changes, expected=form.expected, who=person(request), words=msg("batch")),
        )
        if written is not None:
            saved(request, written, _("Batch saved."))
            return redirect("batch", pk)
    return render(request, "batches/edit.html", {"form": form, "batch": batch, "here": ""})


@right(writes="helper")
def bin_batch(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a batch in the bin."""
    binned = records.put_in_bin(kept_batch(pk), who=person(request), words=msg("batch moved to trash"))
    saved(request, binned, _("Batch {lot} is in the trash.").format(lot=binned.lot))
    return redirect("batches")


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
    return risks_of(known, judged(known.row) if known.row is not None else None, loads)


def usual_program(dryer: Dryer) -> list[dict[str, float | None]]:
    """Return what a new batch begins with, no warmer than the shelf of this dryer can be."""
    highest = celsius(dryer_of(dryer).shelf_highest)
    return [{**step, "shelf_c": min(float(step["shelf_c"] or 0.0), round(highest, 2))} for step in USUAL_PROGRAM]
