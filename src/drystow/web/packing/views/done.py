"""The end of a batch: predicted and actual, what it yielded and cost, what to change next time."""

from datetime import date, datetime
from functools import partial

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.costs.batch import JOULES_PER_KWH
from drystow.errors import InputError, InputErrors
from drystow.figures import formatted
from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import load_of, predict, tray_loads
from drystow.web.batches.dryer_runs import step_of
from drystow.web.batches.load_page import certainty, load_page
from drystow.web.batches.models import Batch
from drystow.web.batches.proved import packed_unproved
from drystow.web.batches.request import kept_batch, units_of
from drystow.web.dryers.lessons import LESSONS
from drystow.web.kit import records
from drystow.web.kit.reader import reader
from drystow.web.kit.record_forms import save_or_show
from drystow.web.kit.words import problem_words
from drystow.web.packing.forms import DoneForm, FinishForm
from drystow.web.packing.packed import left_to_pack
from drystow.web.packing.spec import come_to
from drystow.web.pantry.models import Package


@right(reads="viewer", writes="helper")
def show_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a batch came to; a POST saves the notes."""
    form = DoneForm.of(request, row=kept_batch(pk))
    return save_or_show(request, form, "batch-done", partial(_page, request))


@right(writes="helper", page="batch-done")
def finish(request: HttpRequest, pk: int) -> HttpResponse:
    """Save the notes and finish the batch: each package learns what it cost, the dryer what the run teaches."""

    def then(batch: Batch) -> HttpResponse:
        transaction.on_commit(lambda: LESSONS.ask(batch.dryer_id))
        return redirect("batch-done", pk)

    form = FinishForm.of(request, row=kept_batch(pk))
    return save_or_show(request, form, then, partial(_page, request))


def _page(request: HttpRequest, form: DoneForm) -> HttpResponse:
    batch: Batch = form.row
    outcome, items, packages = come_to(batch)
    context = {
        "batch": batch,
        "here": "done",
        "form": form,
        "outcome": outcome,
        "step": step_of(batch.dryer, batch.pk),
        "working": LESSONS.task.percent(batch.dryer_id),
        "packages": packages,
        "lot_known": Package.objects.filter(lot=batch.lot).exists(),
        "left": left_to_pack(items, packages),
        "unproved": _unproved(batch),
        "energy_j": None if outcome.energy_kwh is None else outcome.energy_kwh * JOULES_PER_KWH,
        "tariff": records.kitchen().tariff_per_kwh,
        "servings": formatted(outcome.servings if batch.servings else round(outcome.servings), "g", reader().signs),
    }
    return render(request, "packing/done.html", context, status=422 if form.is_bound and form.errors else 200)


@right(reads="viewer")
def sheet_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the batch sheet as a PDF."""
    batch, kitchen = kept_batch(pk), records.kitchen()
    units, loads = units_of(request), tray_loads(batch)
    if not loads:
        messages.info(request, _("First put food on the trays. The sheet says what to expect of each."))
        return redirect("batch-trays", pk)
    try:
        load = load_of(batch, loads)
        result, spread = predict(batch, loads)
    except (InputError, InputErrors) as problem:
        messages.error(request, problem_words(problem))
        return redirect("batch-trays", pk)
    page = load_page(load, result, spread, units)
    start: datetime | None = timezone.localtime(batch.started_at).replace(tzinfo=None) if batch.started_at else None
    today: date = timezone.localdate()
    pdf = batch_sheet_pdf(
        result,
        units=units,
        title=f"{batch.lot} {batch.title}",
        prepared_on=today,
        start=start,
        dryer=batch.dryer.name,
        program=page.program,
        certainty=(certainty(page),),
        paper=kitchen.paper,
        packed=_unproved(batch),
        translate=reader(),
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'attachment; filename="batch-{pk}-sheet.pdf"'
    response.headers["Cache-Control"] = "no-store"
    return response


def _unproved(batch: Batch) -> list[str]:
    return [words for of_item in packed_unproved(batch).values() for words in of_item]
