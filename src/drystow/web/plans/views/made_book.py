"""Planned batches become batches of the kitchen."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from drystow.web.plans.models import Plan


@require_POST
def book_batches(_request: HttpRequest, pk: int) -> HttpResponse:
    """Make the batches of a plan."""
    get_object_or_404(Plan.objects.kept(), pk=pk)
    return redirect("plan", pk)
