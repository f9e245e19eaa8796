"""Take back one change."""

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from drystow.web.kit import records
from drystow.web.kit.differences import tell
from drystow.web.kit.models import Change
from drystow.web.kit.notices import person, safe_next, saved
from drystow.web.kit.undoing import parts_of, undo_all

FIRST_NAMES = 6


@require_POST
def undo_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a change, with all of its action unless only this one is asked for, and return to where the person was."""
    last = get_object_or_404(Change, pk=pk)
    parts = parts_of(last)
    if len(parts) > 1 and "only" not in request.POST:
        _undo_all(request, parts)
        return redirect(safe_next(request, reverse("history")))
    try:
        saved(request, records.undo(last, who=person(request)), _("Undone."))
    except records.Conflict:
        words = _("This has been changed again since, so it can’t be undone on its own. History shows both changes.")
        messages.error(request, words)
    except records.Gone:
        messages.error(request, _("This is in the trash. Restore it first."))
    except ObjectDoesNotExist:
        messages.error(request, _("This no longer exists."))
    except ValidationError as problem:
        words = _("This can no longer be undone: {why}")
        messages.error(request, words.format(why=" ".join(problem.messages)))
    return redirect(safe_next(request, reverse("history")))


def _undo_all(request: HttpRequest, parts: list[Change]) -> None:
    """Undo an action and say what stays, because somebody changed it since."""
    done = undo_all(parts, who=person(request))
    if not done.kept:
        saved(request, done.last, _("All undone."))
        return
    names = [f"{one.kind} {one.title}" for one in tell(done.kept)]
    more = f" +{len(names) - FIRST_NAMES}" if len(names) > FIRST_NAMES else ""
    words = ngettext(
        "Partly undone: {n} record is back as before. Changed since by someone else, so left alone: {names}.",
        "Partly undone: {n} records are back as before. Changed since by someone else, so left alone: {names}.",
        done.count,
    )
    if done.count == 0:
        words = _("Nothing was undone. Changed since by someone else, so left alone: {names}.")
    messages.warning(request, words.format(n=done.count, names=", ".join(names[:FIRST_NAMES]) + more))
