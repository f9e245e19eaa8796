"""All dryers of the house."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from drystow.machine.profile import dryer_profile
from drystow.web.batches.dryer_runs import oil_hours
from drystow.web.dryers.models import Dryer

PER_PAGE = 50


def show_dryers(request: HttpRequest) -> HttpResponse:
    """Show the dryers with the hours on their pump oil."""
    page = Paginator(Dryer.objects.kept().order_by("name"), PER_PAGE).get_page(request.GET.get("page"))
    hours = oil_hours(page.object_list)
    cards = [(dryer, dryer_profile(dryer.profile).words, hours[dryer.pk]) for dryer in page.object_list]
    return render(request, "dryers/dryers.html", {"page": page, "cards": cards, "kept": ""})
