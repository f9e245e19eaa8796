"""A photo of a run, as the picture that it is and nothing else."""

from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404

from drystow.web.batches.models import Happening
from drystow.web.batches.photos import TYPES


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
