"""The plan itself: what is dried when, what is left out, and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from drystow.web.plans.models import Plan


def show_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a plan."""
    plan = get_object_or_404(Plan.objects.kept(), pk=pk)
    return render(request, "plans/made.html", {"plan": plan, "here": "plan"})


@require_POST
def plan_again(_request: HttpRequest, pk: int) -> HttpResponse:
    """Have a plan worked out anew."""
    get_object_or_404(Plan.objects.kept(), pk=pk)
    return redirect("plan", pk)
