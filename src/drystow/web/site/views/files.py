"""Files to take along: the load file and the batch sheet."""

from django.http import Http404, HttpRequest, HttpResponse

from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.web.batches.load_page import certainty, load_page
from drystow.web.kit.reader import reader
from drystow.web.kit.records import household
from drystow.web.kit.wishes import wished_units
from drystow.web.site.demo import demo_is_on, demo_load, demo_ready, demo_text


def load_file(request: HttpRequest) -> HttpResponse:
    """Send the load file, ready for ``drystow simulate``."""
    _demo_only()
    return _download(demo_text().encode(), "text/plain; charset=utf-8", "alder-lane-load.toml")


def batch_sheet(request: HttpRequest) -> HttpResponse:
    """Send the batch sheet of the load as a PDF."""
    _demo_only()
    demo = demo_ready(demo_load())
    units = wished_units(request, household().units)
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
