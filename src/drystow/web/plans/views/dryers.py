"""A plan: dryers."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.web.plans.request import kept_plan


def show_dryers(request: HttpRequest, pk: int) -> HttpResponse:
    """Show this part of a plan."""
    return render(request, "plans/dryers.html", {"plan": kept_plan(pk), "here": "dryers"})
