"""What every batch view takes from a request."""

from django.http import HttpRequest
from django.shortcuts import get_object_or_404

from drystow.web.batches.models import Batch
from drystow.web.kit.reader import asks_for_part, wished_units
from drystow.web.kit.records import kitchen


def kept_batch(pk: int) -> Batch:
    """Return a batch with its dryer, what that learned and the plan that it came from, or answer that there is none."""
    batch: Batch = get_object_or_404(Batch.objects.kept().select_related("dryer", "booked__plan"), pk=pk)
    return batch


def units_of(request: HttpRequest) -> str:
    """Return the units in which this person reads and writes."""
    return wished_units(request, kitchen().units)


def only_part(request: HttpRequest) -> bool:
    """Return whether the answer is the changing part of the page only."""
    return asks_for_part(request)
