"""The load page: the demo load, or what to do when there is none."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext_lazy as _

from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.serving.cautions import TWO_HOURS
from drystow.web.accounts.rights import right
from drystow.web.batches.bars import KINDS
from drystow.web.batches.load_page import certainty, load_page
from drystow.web.kit.reader import asks_for_part, reader, remember_units, wished_units
from drystow.web.kit.records import kitchen
from drystow.web.kit.words import sentence_words
from drystow.web.site.demo import demo_drawings, demo_is_on, demo_load, demo_ready, demo_text

UNIT_WORDS = (("us", _("US units")), ("si", _("Metric")))


@right(reads="viewer")
def show_load(request: HttpRequest) -> HttpResponse:
    """Show the load, whole or, for htmx, only the part that changes with the units."""
    units = wished_units(request, kitchen().units)
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
    part = asks_for_part(request)
    response = render(request, "site/load_part.html" if part else "site/load.html", context)
    patch_vary_headers(response, ("HX-Request", "Cookie"))
    response.headers["Cache-Control"] = "no-cache"
    remember_units(request, response)
    return response


@right(reads="viewer")
def load_file(request: HttpRequest) -> HttpResponse:
    """Send the load file, ready for ``drystow simulate``."""
    _demo_only()
    return _download(demo_text().encode(), "text/plain; charset=utf-8", "alder-lane-load.toml")


@right(reads="viewer")
def batch_sheet(request: HttpRequest) -> HttpResponse:
    """Send the batch sheet of the load as a PDF."""
    _demo_only()
    demo = demo_ready(demo_load())
    units = wished_units(request, kitchen().units)
    page = load_page(demo.load, demo.result, demo.spread, units)
    sheet = batch_sheet_pdf(
        demo.result,
        units=units,
        dryer=page.dryer,
        program=page.program,
        certainty=(certainty(page),),
        paper="letter" if units == "us" else "a4",
        translate=reader(),
    )
    return _download(sheet, "application/pdf", "alder-lane-batch-sheet.pdf")


def _demo_only() -> None:
    if not demo_is_on():
        raise Http404


def _download(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["Cache-Control"] = "no-cache"
    return response
