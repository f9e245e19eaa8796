"""The load page: the demo load, or what to do when there is none."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext_lazy as _

from drystow.serving.cautions import TWO_HOURS
from drystow.web.batches.bars import KINDS
from drystow.web.batches.load_page import load_page
from drystow.web.kit.records import household
from drystow.web.kit.wishes import remember_units, wished_units
from drystow.web.kit.words import sentence_words
from drystow.web.site.demo import demo_drawings, demo_is_on, demo_load, demo_ready

UNIT_WORDS = (("us", _("US units")), ("si", _("Metric")))


def show_load(request: HttpRequest) -> HttpResponse:
    """Show the load, whole or, for htmx, only the part that changes with the units."""
    units = wished_units(request, household().units)
    context: dict[str, object] = {"units": units, "state": "empty"}
    if demo_is_on():
        running = demo_load()
        context["state"] = "ready" if running.done() else "warming"
        if running.done():
            demo = demo_ready(running)
            context |= {
                "page": load_page(demo.load, demo.result, demo.spread, units),
                "drawings": demo_drawings(demo, units),
                "kinds": KINDS,
                "unit_words": UNIT_WORDS,
                "two_hours": sentence_words(TWO_HOURS),
            }
    part = request.htmx and not request.htmx.history_restore_request
    response = render(request, "site/load_part.html" if part else "site/load.html", context)
    patch_vary_headers(response, ("HX-Request", "Cookie"))
    response.headers["Cache-Control"] = "no-cache"
    remember_units(request, response)
    return response
