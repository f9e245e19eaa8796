"""One power cut: what it did to each tray, and what to do now."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from drystow.sources import cite
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.models import Happening
from drystow.web.batches.outage_adapters import TOO_EARLY, PowerCut, power_cuts
from drystow.web.batches.request import kept_batch


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
