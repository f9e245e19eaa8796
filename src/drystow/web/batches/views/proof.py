"""Is it dry? What each tray's evidence says, how sure that is, and pieces that were cut open."""

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.evidence.dryness.cut import passes_one_in
from drystow.keeping.food_code import LOWEST_ACTIVITY
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch, Happening, Load, PressureRise, Sample
from drystow.web.batches.proof_view import trays_view
from drystow.web.batches.proved import risk_sentences, risks_of
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.runforms import BeganForm, CoreForm, RiseForm, SampleForm
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import RecordForm, correcting, save_or_show


@right(reads="viewer", writes="helper")
def show_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what is known of each tray, as a page or, for htmx, its part that changes; a POST notes a cut piece."""
    batch = kept_batch(pk)
    loads = tray_loads(batch)
    if request.method != "POST":
        return proof_page(request, batch, loads)
    form = CoreForm.of(request, row=_piece(batch), trays=tray_numbers(loads), auto_id="core_%s")
    return _to_proof(request, form, batch, loads, "core")


def _piece(batch: Batch) -> Happening:
    return Happening(batch=batch, kind="core")


def proof_page(request: HttpRequest, batch: Batch, loads: list[Load], **forms: Any) -> HttpResponse:
    """Show the proof.

    loads: from `tray_loads`
    forms: those that came back: core, sample, rise or began
    """
    known = answer_state(batch, loads)
    found = known.found
    context: dict[str, Any] = {"batch": batch, "here": "proof", "known": known, "judged": found}
    context |= {"trays": trays_view(batch, loads, found), "risks": risk_sentences(risks_of(known, found, loads))}
    context["germs"] = LOWEST_ACTIVITY.items() if any(tray.germs for tray in context["trays"]) else ()
    context["unproved"] = found is None or not found.trays
    if only_part(request) and request.method == "GET":
        return render(request, "batches/proof_part.html", context)
    usual: dict[str, Any] = {"units": units_of(request), "trays": tray_numbers(loads)}
    context |= {
        "passes": round(passes_one_in()),
        "cores": Happening.objects.kept().filter(batch=batch, kind="core"),
        "samples": Sample.objects.filter(batch=batch).select_related("corrected_by"),
        "rises": PressureRise.objects.filter(batch=batch).select_related("corrected_by"),
        "core": forms.get("core") or CoreForm(**usual, row=_piece(batch), auto_id="core_%s"),
        "sample": forms.get("sample") or SampleForm(**usual, row=Sample(batch=batch), auto_id="sample_%s"),
        "rise": forms.get("rise") or RiseForm(units=usual["units"], row=PressureRise(batch=batch), auto_id="rise_%s"),
        "began": forms.get("began") or BeganForm(row=batch, initial={"at": None}, auto_id="began_%s"),
    }
    return render(request, "batches/proof.html", context)


def tray_numbers(loads: list[Load]) -> list[int]:
    """Return the numbers of the trays with food."""
    return sorted({load.tray for load in loads})


@right(reads="viewer", writes="helper")
def add_sample(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a sample, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    loads = tray_loads(batch)
    row = correcting(request, SampleForm, Sample(batch=batch), batch=batch)
    form = SampleForm.of(request, row=row, trays=tray_numbers(loads), auto_id="sample_%s")
    return _to_proof(request, form, batch, loads, "sample")


@right(reads="viewer", writes="helper")
def add_rise(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a pressure rise, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    row = correcting(request, RiseForm, PressureRise(batch=batch), batch=batch)
    return _to_proof(request, RiseForm.of(request, row=row, auto_id="rise_%s"), batch, tray_loads(batch), "rise")


def _to_proof(
    request: HttpRequest, form: RecordForm[Batch], batch: Batch, loads: list[Load], name: str
) -> HttpResponse:
    return save_or_show(
        request,
        form,
        redirect("batch-proof", batch.pk),
        lambda form: proof_page(request, batch, loads, **{name: form}),
    )


@right(reads="viewer", writes="helper")
def set_began(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down when drying began."""
    batch = kept_batch(pk)
    if request.method != "POST":
        return redirect("batch", pk)
    form = BeganForm.of(request, row=batch, initial={"at": None}, auto_id="began_%s")
    return save_or_show(
        request,
        form,
        "batch",
        lambda form: proof_page(request, batch, tray_loads(batch), began=form),
    )


@right(writes="helper")
def dry_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the food of an ended run back: the run goes on, and the time outside does not count as drying."""
    batch = kept_batch(pk)
    if batch.ended_at is None or batch.stage != "proof":
        return redirect("batch", pk)
    _go_on(request, batch, batch.ended_at)
    return redirect("batch-running", pk)


def _go_on(request: HttpRequest, batch: Batch, ended: datetime) -> None:
    minutes = (timezone.now() - ended) / timedelta(minutes=1)
    text = _("Taken out after the run ended, then dried further.")
    row = Happening(batch=batch, kind="door", at=ended, minutes=round(minutes, 1), text=text)
    who, words = person(request), msg("Drying continues. The time since the run ended does not count as drying.")
    with records.one_action():
        records.create(row, who=who, words=words)
        changes = {"ended_at": None, "stage": "running"}
        written = records.change(batch, changes, expected=batch.version, who=who, words=words)
    saved(request, written)
