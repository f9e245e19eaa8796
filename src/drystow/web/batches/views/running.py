"""The run: where it is now, weighings, notes and photos, doors and power cuts, the end."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from drystow.messages import msg
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch, Happening, Weighing
from drystow.web.batches.outage_adapters import TOO_EARLY, PowerCut, power_cuts
from drystow.web.batches.outlook import course, finish_of
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.runforms import OUTSIDE, BeganForm, EndForm, HappeningForm, WeighingForm
from drystow.web.batches.views.proof import tray_numbers
from drystow.web.kit.record_forms import bin_view, correcting, save_or_show


@right(reads="viewer", forms="helper")
def show_running(request: HttpRequest, pk: int) -> HttpResponse:
    """Show where the run is."""
    return _page(request, kept_batch(pk))


@right(reads="viewer", writes="helper")
def add_weighing(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a weighing, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    row = correcting(request, WeighingForm, begun_weighing(batch), batch=batch)
    form = WeighingForm.of(request, row=row, trays=tray_numbers(tray_loads(batch)), auto_id="weighing_%s")
    then = redirect("batch-proof" if batch.stage == "proof" else "batch-running", pk)
    return save_or_show(request, form, then, lambda form: _page(request, batch, weighing=form))


def begun_weighing(batch: Batch) -> Weighing:
    """Return a weighing as the last one of a batch was made."""
    last = Weighing.objects.standing().filter(batch=batch).last()
    if last is None:
        begun: dict[str, Any] = {"resolution_g": None, "outside_min": OUTSIDE}
    else:
        step = last.resolution_g if last.step_written else None
        begun = {"tare_g": last.tare_g, "resolution_g": step, "outside_min": last.outside_min}
    return Weighing(batch=batch, **begun)


@right(reads="viewer", writes="helper")
def add_happening(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a note, a photo, an opened door or a power cut."""
    batch = kept_batch(pk)
    if request.method != "POST":
        return redirect("batch-running", pk)
    form = HappeningForm.of(request, row=Happening(batch=batch), auto_id="happening_%s")

    def then(row: Happening) -> HttpResponse:
        return redirect("batch-outage", pk, row.pk) if row.kind == "power" else redirect("batch-running", pk)

    return save_or_show(request, form, then, lambda form: _page(request, batch, happening=form))


remove_happening = right(writes="helper")(
    bin_view(
        Happening,
        lambda row: redirect("batch-running", row.batch_id),
        says=msg("Removed."),
        find=lambda pk, row_pk: get_object_or_404(Happening.objects.kept(), pk=row_pk, batch=kept_batch(pk)),
    )
)


@right(reads="viewer", writes="helper")
def end_run(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that the run is over."""
    batch = kept_batch(pk)
    if request.method != "POST" or batch.started_at is None or batch.ended_at is not None:
        return redirect("batch", pk)
    form = EndForm.of(request, row=batch, auto_id="end_%s")
    return save_or_show(request, form, "batch-proof", lambda form: _page(request, batch, end=form))


def _page(request: HttpRequest, batch: Batch, **forms: Any) -> HttpResponse:
    units, loads = units_of(request), tray_loads(batch)
    happenings = list(Happening.objects.kept().filter(batch=batch))
    cuts = [] if batch.ended_at else power_cuts(batch, loads, happenings)
    known = answer_state(batch, loads, only_seen=True)
    found = known.found
    context: dict[str, Any] = {"batch": batch, "here": "running", "known": known, "judged": found, "cuts": cuts}
    finish = finish_of(batch, found, cuts)
    context |= {"finish": finish, "rows": course(batch, loads, units, cuts, finish, found)}
    if only_part(request) and request.method == "GET":
        return render(request, "batches/running_part.html", context)
    weighings = list(Weighing.objects.filter(batch=batch).select_related("corrected_by"))
    trays = tray_numbers(loads)
    context |= {
        "weighings": weighings,
        "happenings": happenings,
        "weighing": forms.get("weighing")
        or WeighingForm(units=units, trays=trays, row=begun_weighing(batch), auto_id="weighing_%s"),
        "happening": forms.get("happening")
        or HappeningForm(units=units, row=Happening(batch=batch), auto_id="happening_%s"),
        "end": forms.get("end") or EndForm(units=units, row=batch, auto_id="end_%s"),
        "began": BeganForm(row=batch, initial={"at": None}, auto_id="began_%s"),
    }
    return render(request, "batches/running.html", context)


@right(reads="viewer", forms="helper")
def show_outage(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Show a power cut of a batch."""
    batch = kept_batch(pk)
    rows = Happening.objects.kept().filter(batch=batch, kind="power")
    row = get_object_or_404(rows, pk=row_pk)
    found = {cut.row.pk: cut for cut in power_cuts(batch, tray_loads(batch), rows)}
    cut = found.get(row.pk) or PowerCut(row, untold=TOO_EARLY)
    context = {"batch": batch, "here": "running", "cut": cut}
    if cut.result is not None:
        context["sources"] = [cite(key) for key in cut.result.sources]
    return render(request, "batches/outage.html", context)
