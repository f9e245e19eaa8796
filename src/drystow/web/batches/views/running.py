"""The run: where it is now, weighings, notes and photos, doors and power cuts, the end."""

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors
from drystow.reports.timeline import timeline
from drystow.said import say
from drystow.web.batches.adapters import predict, tray_loads
from drystow.web.batches.models import Batch, Happening, Weighing
from drystow.web.batches.outage_adapters import PowerCut, power_cuts
from drystow.web.batches.request import kept_batch, units_of
from drystow.web.batches.runforms import EndForm, HappeningForm, WeighingForm, weighing_initial
from drystow.web.batches.views.overview import finish
from drystow.web.site import records
from drystow.web.site.notices import person, saved
from drystow.web.site.saving import try_to_save
from drystow.web.site.words import in_english


def show_running(request: HttpRequest, pk: int) -> HttpResponse:
    """Show where the run is."""
    return _page(request, kept_batch(pk))


def add_weighing(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a weighing, or one that corrects an earlier one; nothing written is changed."""
    batch = kept_batch(pk)
    old = _number(request.POST.get("corrects") or request.GET.get("correct"))
    corrected = get_object_or_404(Weighing, pk=old, batch=batch) if old else None
    if corrected is not None and hasattr(corrected, "corrected_by"):
        corrected = None if request.method == "GET" else corrected
    initial = weighing_initial(corrected) if corrected else None
    post = request.POST if request.method == "POST" else None
    form = WeighingForm(post, units=units_of(request), trays=_trays(batch), initial=initial, auto_id="weighing_%s")
    if request.method != "POST" or not form.is_valid():
        return _page(request, batch, weighing=form)
    if corrected is not None and hasattr(corrected, "corrected_by"):
        form.add_error(None, _("This weighing was corrected already; correct the newer one."))
        return _page(request, batch, weighing=form)
    row = Weighing(batch=batch, **form.values(), who=person(request), corrects=corrected)
    row.full_clean()
    row.save()
    saved(request, None, _("Weighing corrected.") if corrected else _("Weighing noted."))
    return redirect("batch-proof" if batch.stage == "proof" else "batch-running", pk)


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
            saved(request, made, _("Noted."))
            return redirect("batch-outage", pk, row.pk) if kind == "power" else redirect("batch-running", pk)
    return _page(request, batch, happening=form)


@require_POST
def remove_happening(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Put a note in the bin."""
    row = get_object_or_404(Happening.objects.kept(), pk=row_pk, batch=kept_batch(pk))
    binned = records.put_in_bin(row, who=person(request), words=in_english(row.get_kind_display()))
    saved(request, binned, _("Removed."))
    return redirect("batch-running", pk)


def end_run(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that the run is over."""
    batch = kept_batch(pk)
    if request.method != "POST" or batch.started_at is None or batch.ended_at is not None:
        return redirect("batch", pk)
    form = EndForm(request.POST, units=units_of(request), auto_id="end_%s")
    if form.is_valid():
        at, energy = form.cleaned_data["at"], form.cleaned_data["energy"]
        if at < batch.started_at:
            form.add_error("at", _("This is before the run began."))
            return _page(request, batch, end=form)
        changes: dict[str, Any] = {"ended_at": at, "stage": "proof"}
        if energy is not None:
            changes["energy_kwh"] = round(energy / 3.6e6, 3)
        written = try_to_save(
            form,
            lambda: records.change(batch, changes, expected=form.expected, who=person(request), words=say("run ended")),
        )
        if written is not None:
            saved(request, written, _("The run is over. Now see whether it is dry."))
            return redirect("batch-proof", pk)
    return _page(request, batch, end=form)


def _page(request: HttpRequest, batch: Batch, **forms: Any) -> HttpResponse:
    units, trays = units_of(request), _trays(batch)
    weighings = list(Weighing.objects.filter(batch=batch).select_related("corrected_by"))
    usual = (
        {"tare": weighings[-1].tare_g / 1000.0, "resolution": weighings[-1].resolution_g / 1000.0} if weighings else {}
    )
    happenings = list(Happening.objects.kept().filter(batch=batch))
    cuts = [] if batch.ended_at else power_cuts(batch, happenings)
    context = {
        "batch": batch,
        "here": "running",
        "finish": _after_cuts(finish(batch), cuts),
        "cuts": cuts,
        "rows": _course(batch, units),
        "weighings": weighings,
        "happenings": happenings,
        "weighing": forms.get("weighing")
        or WeighingForm(units=units, trays=trays, initial=usual, auto_id="weighing_%s"),
        "happening": forms.get("happening") or HappeningForm(units=units, auto_id="happening_%s"),
        "end": forms.get("end") or EndForm(units=units, initial={"version": batch.version}, auto_id="end_%s"),
    }
    return render(request, "batches/running.html", context)


def _after_cuts(expected: dict[str, Any] | None, cuts: list[PowerCut]) -> dict[str, Any] | None:
    """Return when the run is expected to end, later by what its power cuts took."""
    for early, late in filter(None, (cut.later for cut in cuts)):
        if expected is not None:
            moved = {
                "early": expected["early"] + early,
                "middle": expected["middle"] + 0.5 * (early + late),
                "late": expected["late"] + late,
            }
            expected = expected | moved | {"overdue": timezone.now() > moved["late"]}
    return expected


def _course(batch: Batch, units: str) -> list[dict[str, Any]]:
    """Return the expected course with the clock of the house and, between its lines, now."""
    if batch.started_at is None:
        return []
    try:
        result = predict(batch)
    except (InputError, InputErrors):
        return []
    passed = ((batch.ended_at or timezone.now()) - batch.started_at).total_seconds()
    rows: list[dict[str, Any]] = [
        {"at": batch.started_at + timedelta(seconds=row.time), "what": row.what, "past": row.time <= passed}
        for row in timeline(result, units, translate=_)
    ]
    place = sum(row["past"] for row in rows)
    words = _("the run ended") if batch.ended_at else _("now")
    rows.insert(place, {"at": batch.ended_at or timezone.now(), "what": words, "now": True})
    return rows


def _trays(batch: Batch) -> list[int]:
    return sorted({load.tray for load in tray_loads(batch)})


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() else 0
