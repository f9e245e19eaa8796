"""Labels for the packages of a batch."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.messages import msg
from drystow.reports.labels import print_labels
from drystow.reports.sheets import SHEETS
from drystow.web.accounts.rights import right
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.request import kept_batch, units_of
from drystow.web.kit import records
from drystow.web.kit.label_sheets import all_sheets, part_used
from drystow.web.kit.notices import person, saved
from drystow.web.kit.records import kitchen
from drystow.web.kit.saving import tell
from drystow.web.packing.forms import PackageLabelForm
from drystow.web.packing.packed import left_to_pack
from drystow.web.packing.spec import label_of
from drystow.web.pantry.models import Package

HERE_ONLY = ("localhost", "127.0.0.1", "[::1]")
"""Names under which a computer is known to itself only."""


@right(reads="viewer", writes="helper")
def show_labels(request: HttpRequest, pk: int) -> HttpResponse:
    """Show which labels can be printed; a POST says that they are on."""
    batch = kept_batch(pk)
    if request.method == "POST":
        if batch.stage == "labels":
            who, words = person(request), msg("Labels are on.")
            saved(request, records.change(batch, {"stage": "done"}, expected=batch.version, who=who, words=words))
        return redirect("batch-done", pk)
    return _page(request, batch, PackageLabelForm(initial=_usual()))


@right(reads="viewer", forms="helper")
def labels_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """Send the labels as a PDF; a sheet on which they do not fit comes back with the reason."""
    batch = kept_batch(pk)
    form, packages = PackageLabelForm(_usual() | request.GET.dict()), _packages(batch)
    if not packages:
        messages.info(request, _("Pack first. Every package gets a label."))
        return redirect("batch-packing", pk)
    if not form.is_valid():
        return _page(request, batch, form, 422)
    data = form.cleaned_data
    try:
        sheet = part_used(data["sheet"], data["skip"] or 0)
        labels = [label_of(package, _prefix(request), data["gs1"]) for package in packages]
        printed = print_labels(labels, sheet, units_of(request), _)
    except InputError as problem:
        tell(form, problem, {"skip": "skip", "sheet": "sheet"})
        return _page(request, batch, form, 422)
    response = HttpResponse(printed.pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="labels-{pk}.pdf"'
    response.headers["Cache-Control"] = "no-store"
    return response


def _usual() -> dict[str, Any]:
    """Return the sheet of the kitchen; the first one when it knows none of this name."""
    sheet = kitchen().label_sheet
    return {"sheet": sheet if sheet in all_sheets() else next(iter(SHEETS)), "skip": 0}


def _packages(batch: Batch) -> list[Package]:
    return list(Package.objects.kept().filter(batch=batch).select_related("place").order_by("name", "pk"))


def _prefix(request: HttpRequest) -> str:
    """Return the address of the package pages, without the code."""
    return str(request.build_absolute_uri(reverse("package", args=("X",)))).removesuffix("X/")


def _page(request: HttpRequest, batch: Batch, form: PackageLabelForm, status: int = 200) -> HttpResponse:
    host = request.get_host().rsplit(":", 1)[0]
    context = {
        "batch": batch,
        "here": "labels",
        "form": form,
        "packages": (packages := _packages(batch)),
        "left": left_to_pack(Item.objects.kept().filter(batch=batch), packages),
        "address": _prefix(request),
        "here_only": host in HERE_ONLY,
    }
    return render(request, "packing/labels.html", context, status=status)
