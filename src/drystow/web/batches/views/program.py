"""The program: shelf steps, freezer, how sure the finish is, and the start."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError, InputErrors
from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import predict, prediction_json, tray_loads
from drystow.web.batches.forms import ProgramForm, with_addresses
from drystow.web.batches.models import Batch
from drystow.web.batches.request import kept_batch
from drystow.web.batches.traypicture import tray_words
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved
from drystow.web.kit.record_forms import save_or_show

LITTLE_MARGIN = 2.0  # below this many kelvin a forecast is no promise; drystow-default


@right(reads="viewer", writes="helper")
def show_program(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the program with its forecast; a POST saves it."""
    return _page(request, kept_batch(pk))


@right(writes="helper", page="batch-program")
def leave_out(request: HttpRequest, pk: int, step: int) -> HttpResponse:
    """Save the program without one of its steps."""
    return _page(request, kept_batch(pk), step)


def _page(request: HttpRequest, batch: Batch, without: int | None = None) -> HttpResponse:
    """Save what was sent, or show the page.

    without: number of a step that is left out
    """
    form = ProgramForm.of(request, row=batch, without=without)

    def page(form: ProgramForm) -> HttpResponse:
        rows = with_addresses(form.steps, "batch-program-without", batch.pk)
        context = {"batch": batch, "here": "program", "form": form, "steps": rows} | _forecast(batch)
        return render(request, "batches/program.html", context)

    return save_or_show(request, form, "batch-program", page)


@right(writes="helper")
def start_run(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin the run: the food goes in now, and the forecast of this moment is kept."""
    batch = kept_batch(pk)
    if batch.started_at is not None:
        return redirect("batch", pk)
    loads = tray_loads(batch)
    try:
        prediction = prediction_json(loads, *predict(batch, loads))
    except (InputError, InputErrors):
        return redirect("batch-program", pk)  # which says what stands in the way
    changes = {"started_at": timezone.now(), "stage": "running", "prediction": prediction}
    words = msg("The run has started. Weigh a tray whenever you open the door anyway.")
    saved(request, records.change(batch, changes, expected=batch.version, who=person(request), words=words))
    return redirect("batch-running", pk)


def _forecast(batch: Batch) -> dict[str, Any]:
    loads = tray_loads(batch)
    if not loads:
        return {"problems": [_("There is no food on the trays yet.")]}
    try:
        result, spread = predict(batch, loads)
    except (InputError, InputErrors) as error:
        return {"problems": [tray_words(one, loads) for one in error.problems]}
    rows = [
        {
            "load": load,
            "tray": tray,
            "margin": tray.limit - tray.front_temperature_max,
            "over": tray.front_temperature_max > tray.limit,
            "close": 0.0 <= tray.limit - tray.front_temperature_max < LITTLE_MARGIN,
            "beyond": tray.front_temperature_max - tray.limit,
            "early": float(three[0]) if three[0] == three[0] else None,
            "late": float(three[2]) if three[2] == three[2] else None,
        }
        for load, tray, three in zip(loads, result.trays, spread.dry_end, strict=True)
    ]
    return {
        "result": result,
        "rows": rows,
        "members": spread.members,
        "early": float(spread.total[0]),
        "middle": float(spread.total[1]),
        "late": float(spread.total[2]),
        "share": round(100 * result.machine.trap_ice / result.machine.trap_capacity),
    }
