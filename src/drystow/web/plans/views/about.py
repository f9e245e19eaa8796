"""A plan: about."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.web.plans.request import kept_plan


def show_about(request: HttpRequest, pk: int) -> HttpResponse:
    """Show this part of a plan."""
    return render(request, "plans/about.html", {"plan": kept_plan(pk), "here": "edit"})
