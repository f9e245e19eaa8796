"""Pictures of a batch: curves of its forecast, how much water may be left on a tray, photos of its run."""

from functools import lru_cache

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import get_language

from drystow.reports.dryness_chart import moisture_picture
from drystow.web.batches.judged import judged
from drystow.web.batches.models import Happening, Judgement
from drystow.web.batches.request import kept_batch, only_part
from drystow.web.batches.runforms import TYPES
from drystow.web.kit.drawing import Drawing, drawing_of

MOST_KEPT = 64


def show_picture(request: HttpRequest, pk: int, tray: int) -> HttpResponse:
    """Show the picture of a tray, as a page or, for htmx, alone."""
    batch = kept_batch(pk)
    row = get_object_or_404(Judgement, batch=batch)
    answers = [one for one in judged(row).trays if one.number == tray]
    if not answers:
        raise Http404
    context = {"batch": batch, "here": "proof", "number": tray}
    context["drawing"] = _drawn(answers[0].moistures, answers[0].target, get_language())
    return render(request, "batches/picture_part.html" if only_part(request) else "batches/picture.html", context)


@lru_cache(MOST_KEPT)
def _drawn(moistures: tuple[float, ...], target: float, _language: str | None) -> Drawing:
    return drawing_of(moisture_picture(moistures, target))


def show_photo(request: HttpRequest, pk: int) -> FileResponse:
    """Send a photo with its own type; the browser must not guess another."""
    row = get_object_or_404(Happening.objects.kept().filter(batch__binned_at=None).exclude(photo=""), pk=pk)
    kind = row.photo.name.rpartition(".")[2]
    try:
        stream = row.photo.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    answer = FileResponse(stream, content_type=TYPES.get(kind, "application/octet-stream"))
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["Cache-Control"] = "private, max-age=3600"
    return answer
