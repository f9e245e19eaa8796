"""All plans."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.web.plans.models import Plan


def show_plans(request: HttpRequest) -> HttpResponse:
    """Show the plans, the newest first."""
    return render(request, "plans/overview.html", {"plans": Plan.objects.kept()})
