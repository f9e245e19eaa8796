"""Pictures of a batch: the curves of its forecast, how dry its trays may be, photos of its run."""

from collections import OrderedDict

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import get_language

from drystow.errors import InputError, InputErrors
from drystow.machine.result import LoadResult
from drystow.numerics.remembered import remembered
from drystow.reports.dryness_chart import moisture_picture
from drystow.web.accounts.rights import right
from drystow.web.batches.adapters import load_of, predict, tray_loads
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.load_page import load_page
from drystow.web.batches.models import Happening
from drystow.web.batches.request import kept_batch, only_part, units_of
from drystow.web.batches.runforms import TYPES
from drystow.web.kit.drawing import Drawing, draw, drawing_of
from drystow.web.kit.words import page_problem_words

MOST_KEPT = 32
_kept: "OrderedDict[tuple[int, str, str], tuple[LoadResult, tuple[Drawing, ...]]]" = OrderedDict()


@right(reads="viewer", forms="helper")
def show_curves(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the curves, as a page or, for htmx, as the part that the program and running pages fetch."""
    batch, units = kept_batch(pk), units_of(request)
    loads = tray_loads(batch)
    context: dict[str, object] = {"batch": batch, "here": batch.stage}
    try:
        result, spread = predict(batch, loads)
        context |= {
            "page": load_page(load_of(batch, loads), result, spread, units),
            "drawings": _drawings(result, units),
        }
    except (InputError, InputErrors) as problem:
        context["problem"] = page_problem_words(problem)
    return render(request, "batches/curves_part.html" if only_part(request) else "batches/curves.html", context)


def _drawings(result: LoadResult, units: str) -> tuple[Drawing, ...]:
    """Return the drawings of a forecast, drawn once as long as the forecast is remembered."""
    key = (id(result), units, get_language() or "")
    if key not in _kept or _kept[key][0] is not result:
        _kept[key] = (result, draw(result, units))
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return _kept[key][1]


MOST_PHOTOS_KEPT = 64


@right(reads="viewer", forms="helper")
def show_picture(request: HttpRequest, pk: int, tray: int) -> HttpResponse:
    """Show the picture of a tray, as a page or, for htmx, alone."""
    batch = kept_batch(pk)
    row = DRYNESS.kept(batch.pk)
    answers = [] if row is None or row.result is None else [one for one in row.result.trays if one.number == tray]
    if not answers:
        raise Http404
    context = {"batch": batch, "here": "proof", "number": tray}
    context["drawing"] = _drawn(answers[0].moistures, answers[0].target, get_language())
    return render(request, "batches/picture_part.html" if only_part(request) else "batches/picture.html", context)


@remembered(MOST_PHOTOS_KEPT)
def _drawn(moistures: tuple[float, ...], target: float, _language: str | None) -> Drawing:
    return drawing_of(moisture_picture(moistures, target))


@right(reads="viewer")
def show_photo(request: HttpRequest, pk: int) -> FileResponse:
    """Send a photo with its own type; the browser must not guess another."""
    row = get_object_or_404(Happening.objects.kept().filter(batch__binned_at=None).exclude(photo=""), pk=pk)
    kind = str(row.photo.name).rpartition(".")[2]
    try:
        stream = row.photo.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    answer = FileResponse(stream, content_type=TYPES.get(kind, "application/octet-stream"))
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["Cache-Control"] = "private, max-age=3600"
    return answer
