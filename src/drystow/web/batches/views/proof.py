"""Is it dry? What each tray's evidence says, how sure that is, and pieces that were cut open."""

from datetime import timedelta
from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.evidence.dryness.cut import passes_one_in
from drystow.keeping.food_code import LOWEST_ACTIVITY
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.judged import judged
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch, Happening, Load, PressureRise, Sample
from drystow.web.batches.proof_view import trays_view
from drystow.web.batches.proved import risk_sentences, risks_of
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.runforms import BeganForm, CoreForm, RiseForm, SampleForm, rise_initial, sample_initial
from drystow.web.batches.views.corrected import Kind, add_or_correct
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import try_to_save


@right(reads="viewer", writes="helper")
def show_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what is known of each tray, as a page or, for htmx, its part that changes; a POST notes a cut piece."""
    batch = kept_batch(pk)
    loads = tray_loads(batch)
    if request.method != "POST":
        return proof_page(request, batch, loads)
    form = CoreForm(request.POST, units=units_of(request), trays=tray_numbers(loads), auto_id="core_%s")
    if form.is_valid():
        row = Happening(batch=batch, **form.values())
        made = try_to_save(form, lambda: records.create(row, who=person(request), words=msg("piece cut open")))
        if made is not None:
            saved(request, made, _("Saved."))
            return redirect("batch-proof", pk)
    return proof_page(request, batch, loads, core=form)


def proof_page(request: HttpRequest, batch: Batch, loads: list[Load], **forms: Any) -> HttpResponse:
    """Show the proof.

    loads: from `tray_loads`
    forms: those that came back: core, sample, rise or began
    """
    known = answer_state(batch, loads)
    found = judged(known.row) if known.row is not None else None
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
        "core": forms.get("core") or CoreForm(**usual, auto_id="core_%s"),
        "sample": forms.get("sample") or SampleForm(**usual, auto_id="sample_%s"),
        "rise": forms.get("rise") or RiseForm(units=usual["units"], auto_id="rise_%s"),
        "began": forms.get("began") or BeganForm(batch=batch, initial={"version": batch.version}, auto_id="began_%s"),
    }
    return render(request, "batches/proof.html", context)


def tray_numbers(loads: list[Load]) -> list[int]:
    """Return the numbers of the trays with food."""
    return sorted({load.tray for load in loads})


SAMPLES = Kind(
    Sample,
    sample_initial,
    noted=lazy("Sample saved."),
    corrected=lazy("Sample corrected."),
    again=lazy("This sample was already corrected; correct the newer one."),
)
RISES = Kind(
    PressureRise,
    rise_initial,
    noted=lazy("Pressures saved."),
    corrected=lazy("Pressures corrected."),
    again=lazy("These pressures were already corrected; correct the newer ones."),
)


@right(reads="viewer", writes="helper")
def add_sample(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a sample, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    loads = tray_loads(batch)
    make = partial(SampleForm, units=units_of(request), trays=tray_numbers(loads), auto_id="sample_%s")
    page = add_or_correct(request, batch, SAMPLES, make, lambda form: proof_page(request, batch, loads, sample=form))
    return page or redirect("batch-proof", pk)


@right(reads="viewer", writes="helper")
def add_rise(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a pressure rise, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    make = partial(RiseForm, units=units_of(request), auto_id="rise_%s")
    page = add_or_correct(
        request, batch, RISES, make, lambda form: proof_page(request, batch, tray_loads(batch), rise=form)
    )
    return page or redirect("batch-proof", pk)


@right(reads="viewer", writes="helper")
def set_began(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down when drying began."""
    batch = kept_batch(pk)
    if request.method != "POST":
        return redirect("batch", pk)
    form = BeganForm(request.POST, batch=batch, auto_id="began_%s")
    if form.is_valid():
        changes = {"drying_began_at": form.cleaned_data["at"]}
        written = try_to_save(
            form,
            lambda: records.change(batch, changes, expected=form.expected, who=person(request), words=msg("vacuum on")),
        )
        if written is not None:
            saved(request, written, _("Saved."))
            return redirect("batch", pk)
    return proof_page(request, batch, tray_loads(batch), began=form)


@right(writes="helper")
def dry_on(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the food of an ended run back: the run goes on, and the time outside does not count as drying."""
    batch = kept_batch(pk)
    if batch.ended_at is None or batch.stage != "proof":
        return redirect("batch", pk)
    _go_on(request, batch, (timezone.now() - batch.ended_at) / timedelta(minutes=1))
    return redirect("batch-running", pk)


def _go_on(request: HttpRequest, batch: Batch, minutes: float) -> None:
    text = _("Taken out after the run ended, then dried further.")
    row = Happening(batch=batch, kind="door", at=batch.ended_at, minutes=round(minutes, 1), text=text)
    with records.one_action():
        records.create(row, who=person(request), words=msg("drying continued"))
        changes = {"ended_at": None, "stage": "running"}
        written = records.change(
            batch, changes, expected=batch.version, who=person(request), words=msg("drying continued")
        )
    saved(request, written, _("Drying continues. The time since the run ended does not count as drying."))
