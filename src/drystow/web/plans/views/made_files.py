"""A plan to take along: for the calendar, and on paper."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from drystow.web.plans.models import Plan


def plan_calendar(_request: HttpRequest, pk: int) -> HttpResponse:
    """Return the plan for a calendar."""
    get_object_or_404(Plan.objects.kept(), pk=pk)
    return redirect("plan", pk)


def plan_pdf(_request: HttpRequest, pk: int) -> HttpResponse:
    """Return the plan for paper."""
    get_object_or_404(Plan.objects.kept(), pk=pk)
    return redirect("plan", pk)
