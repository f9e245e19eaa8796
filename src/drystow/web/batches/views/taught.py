"""What batches teach: have it worked out, use it or not."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.messages import msg
from drystow.web.batches import teaching
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person, saved


@require_POST
def learn_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have what the batches of a dryer teach worked out in the background."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    teaching.QUEUE.ask(dryer.pk)
    saved(request, None, _("Calculating; this takes a few seconds per batch. Refresh the page then."))
    return redirect("dryer", pk)


@require_POST
def use_taught(request: HttpRequest, pk: int) -> HttpResponse:
    """Have forecasts use what batches taught, or not."""
    dryer = get_object_or_404(Dryer.objects.kept(), pk=pk)
    wished = request.POST.get("use") == "yes"
    words = msg("forecasts use what batches taught") if wished else msg("forecasts use the dryer’s own numbers")
    done = records.change(dryer, {"use_taught": wished}, expected=dryer.version, who=person(request), words=words)
    saved(request, done, _("Saved."))
    return redirect("dryer", pk)
