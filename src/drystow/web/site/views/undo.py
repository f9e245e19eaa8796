"""Take back one change."""

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from drystow.web.site import records
from drystow.web.site.models import Change
from drystow.web.site.notices import person, safe_next, saved


@require_POST
def undo_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a change and return to where the person was."""
    last = get_object_or_404(Change, pk=pk)
    try:
        saved(request, records.undo(last, who=person(request)), _("Undone."))
    except records.Conflict:
        words = _("This was changed again since, so it cannot be undone on its own. The history shows both changes.")
        messages.error(request, words)
    except records.Gone:
        messages.error(request, _("This is in the bin. Take it back first."))
    except ObjectDoesNotExist:
        messages.error(request, _("This is no longer there."))
    except ValidationError as problem:
        words = _("This cannot be undone any more: %(why)s")
        messages.error(request, words % {"why": " ".join(problem.messages)})
    return redirect(safe_next(request, reverse("history")))
