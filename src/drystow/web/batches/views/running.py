"""The run: where it is now, weighings, notes and photos, doors and power cuts, the end."""

from functools import partial
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.constants import ZERO_CELSIUS
from drystow.figures import typed
from drystow.messages import msg
from drystow.sources import cite
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.judged import judged
from drystow.web.batches.judging import answer_state
from drystow.web.batches.models import Batch, Happening, Weighing
from drystow.web.batches.outage_adapters import TOO_EARLY, PowerCut, power_cuts
from drystow.web.batches.outlook import course, finish_of
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.runforms import OUTSIDE, BeganForm, EndForm, HappeningForm, WeighingForm, weighing_initial
from drystow.web.batches.views.corrected import Kind, add_or_correct
from drystow.web.batches.views.proof import tray_numbers
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.saving import try_to_save
from drystow.web.kit.words import in_english

WEIGHINGS = Kind(
    Weighing,
    weighing_initial,
    noted=lazy("Weighing saved."),
    corrected=lazy("Weighing corrected."),
    again=lazy("This weighing was already corrected; correct the newer one."),
)


@right(reads="viewer", forms="helper")
def show_running(request: HttpRequest, pk: int) -> HttpResponse:
    """Show where the run is."""
    return _page(request, kept_batch(pk))


@right(reads="viewer", writes="helper")
def add_weighing(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a weighing, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    trays = tray_numbers(tray_loads(batch))
    make = partial(WeighingForm, units=units_of(request), trays=trays, auto_id="weighing_%s")
    page = add_or_correct(request, batch, WEIGHINGS, make, lambda form: _page(request, batch, weighing=form))
    return page or redirect("batch-proof" if batch.stage == "proof" else "batch-running", pk)


@right(reads="viewer", writes="helper")
def add_happening(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a note, a photo, an opened door or a power cut."""
    batch = kept_batch(pk)
    if request.method != "POST":
        return redirect("batch-running", pk)
    form = HappeningForm(request.POST, request.FILES, units=units_of(request), auto_id="happening_%s")
    if form.is_valid():
        data = form.cleaned_data
        kind = "photo" if data["photo"] and data["kind"] == "note" else data["kind"]
        row = Happening(batch=batch, kind=kind, at=data["at"], minutes=data["minutes"], text=data["text"])
        row.photo = data["photo"] or ""
        if kind == "power":
            row.opened = data["opened"]
            row.room_c = None if data["room"] is None else round(data["room"] - ZERO_CELSIUS, 2)
        made = try_to_save(
            form, lambda: records.create(row, who=person(request), words=in_english(row.get_kind_display()))
        )
        if made is not None:
            saved(request, made, _("Saved."))
            return redirect("batch-outage", pk, row.pk) if kind == "power" else redirect("batch-running", pk)
    return _page(request, batch, happening=form)


@right(writes="helper")
def remove_happening(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Put a note in the bin."""
    row = get_object_or_404(Happening.objects.kept(), pk=row_pk, batch=kept_batch(pk))
    binned = records.put_in_bin(row, who=person(request), words=in_english(row.get_kind_display()))
    saved(request, binned, _("Removed."))
    return redirect("batch-running", pk)


@right(reads="viewer", writes="helper")
def end_run(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that the run is over."""
    batch = kept_batch(pk)
    if request.method != "POST" or batch.started_at is None or batch.ended_at is not None:
        return redirect("batch", pk)
    form = EndForm(request.POST, units=units_of(request), auto_id="end_%s")
    if form.is_valid():
        at, energy = form.cleaned_data["at"], form.cleaned_data["energy"]
        if at < batch.started_at:
            form.add_error("at", _("This is before the run started."))
            return _page(request, batch, end=form)
        changes: dict[str, Any] = {"ended_at": at, "stage": "proof"}
        if energy is not None:
            changes["energy_kwh"] = round(energy / 3.6e6, 3)
        written = try_to_save(
            form,
            lambda: records.change(batch, changes, expected=form.expected, who=person(request), words=msg("run ended")),
        )
        if written is not None:
            saved(request, written, _("The run is over. Now see whether it is dry."))
            return redirect("batch-proof", pk)
    return _page(request, batch, end=form)


def _page(request: HttpRequest, batch: Batch, **forms: Any) -> HttpResponse:
    units, loads = units_of(request), tray_loads(batch)
    happenings = list(Happening.objects.kept().filter(batch=batch))
    cuts = [] if batch.ended_at else power_cuts(batch, loads, happenings)
    known = answer_state(batch, loads, only_seen=True)
    found = judged(known.row) if known.row is not None else None
    context: dict[str, Any] = {"batch": batch, "here": "running", "known": known, "judged": found, "cuts": cuts}
    finish = finish_of(batch, found, cuts)
    context |= {"finish": finish, "rows": course(batch, loads, units, cuts, finish, found)}
    if only_part(request) and request.method == "GET":
        return render(request, "batches/running_part.html", context)
    weighings = list(Weighing.objects.filter(batch=batch).select_related("corrected_by"))
    usual: dict[str, Any] = {"outside": OUTSIDE}
    standing = [row for row in weighings if row.binned_at is None]
    if standing:
        last = standing[-1]
        usual |= {
            "tare": last.tare_g / 1000.0,
            "resolution": last.resolution_g / 1000.0 if last.step_written else None,
            "outside": typed(last.outside_min, 6),
        }
    trays = tray_numbers(loads)
    context |= {
        "weighings": weighings,
        "happenings": happenings,
        "weighing": forms.get("weighing")
        or WeighingForm(units=units, trays=trays, initial=usual, auto_id="weighing_%s"),
        "happening": forms.get("happening") or HappeningForm(units=units, auto_id="happening_%s"),
        "end": forms.get("end") or EndForm(units=units, initial={"version": batch.version}, auto_id="end_%s"),
        "began": BeganForm(batch=batch, initial={"version": batch.version}, auto_id="began_%s"),
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
