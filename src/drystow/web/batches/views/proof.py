"""Is it dry? The evidence so far for each tray."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from drystow.drying.targets import target_moisture
from drystow.said import say
from drystow.web.batches.adapters import foods_of, tray_loads
from drystow.web.batches.assess import assess, net_g, solids_of
from drystow.web.batches.models import Batch, Happening, Weighing
from drystow.web.batches.proofforms import CoreForm
from drystow.web.batches.request import kept_batch, units_of
from drystow.web.site import records
from drystow.web.site.notices import person, saved
from drystow.web.site.saving import try_to_save


def show_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what is known of each tray; a POST notes a piece that was cut open."""
    batch = kept_batch(pk)
    loads = tray_loads(batch)
    trays = sorted({load.tray for load in loads})
    form = CoreForm(request.POST if request.method == "POST" else None, units=units_of(request), trays=trays)
    if request.method == "POST" and form.is_valid() and _note_core(request, batch, form):
        return redirect("batch-proof", pk)
    context = {
        "batch": batch,
        "here": "proof",
        "form": form,
        "trays": _evidence(batch, loads),
        "cores": Happening.objects.kept().filter(batch=batch, kind="core"),
    }
    return render(request, "batches/proof.html", context)


def _note_core(request: HttpRequest, batch: Batch, form: CoreForm) -> bool:
    row = Happening(batch=batch, **form.values())
    made = try_to_save(form, lambda: records.create(row, who=person(request), words=say("piece cut open")))
    if made is not None:
        saved(request, made, _("Noted."))
    return made is not None


def _evidence(batch: Batch, loads: list[Any]) -> list[dict[str, Any]]:
    foods = foods_of(load.item.food for load in loads)
    by_tray: dict[int, list[Weighing]] = {}
    for row in Weighing.objects.filter(batch=batch, corrected_by=None):
        by_tray.setdefault(row.tray, []).append(row)
    trays = []
    for number in sorted({load.tray for load in loads}):
        here = [load for load in loads if load.tray == number]
        parts = []
        for load in here:
            food = foods[load.item.food]
            wished = load.item.target_moisture
            parts.append((food, load.mass_kg, target_moisture(food.food_class) if wished is None else wished))
        solids = solids_of(parts)
        rows = by_tray.get(number, [])
        trays.append(
            {
                "number": number,
                "foods": ", ".join(load.item.name for load in here),
                "solids": solids,
                "assessment": assess(rows, solids),
                "rows": [
                    {
                        "at": row.at,
                        "over_kg": net_g(row) / 1000.0 - solids.dry,
                        "row": row,
                    }
                    for row in rows
                ],
            }
        )
    return trays
