"""One power cut: what it did to each tray, and what to do now."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from drystow.sources import cite
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.models import Happening
from drystow.web.batches.outage_adapters import power_cut
from drystow.web.batches.request import kept_batch


def show_outage(request: HttpRequest, pk: int, row_pk: int) -> HttpResponse:
    """Show a power cut of a batch."""
    batch = kept_batch(pk)
    row = get_object_or_404(Happening.objects.kept(), pk=row_pk, batch=batch, kind="power")
    cut = power_cut(batch, tray_loads(batch), row)
    context = {"batch": batch, "here": "running", "cut": cut}
    if cut.result is not None:
        context["sources"] = [cite(key) for key in cut.result.sources]
    return render(request, "batches/outage.html", context)
