"""What a person is told after a write, with the offer to undo it."""

from django.contrib import messages
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from drystow.web.kit import records
from drystow.web.kit.models import Change, Record
from drystow.web.kit.words import in_words

UNDO = "undo:"
"""Beginning of the extra tag of a message that can be undone; the number of the change follows."""


def person(request: HttpRequest) -> str:
    """Return the name of who is signed in, or nothing."""
    user = getattr(request, "user", None)
    return str(user.get_username())[:80] if user is not None else ""


def saved(request: HttpRequest, done: Change | Record | None, words: str = "", advice: str = "") -> None:
    """Tell a person that something was saved, with a button that undoes it.

    done: the change, or the record that was just written
    words: what the history says of the change where they are left out
    advice: what to do next
    """
    change = done
    if isinstance(done, Record):
        change = done.written if hasattr(done, "written") else records.history(done).first()
    told = words or (records.comment(change) if isinstance(change, Change) else "")
    told = " ".join(in_words(one) for one in (told, advice) if one)
    messages.success(request, told, extra_tags=f"{UNDO}{change.pk}" if change else "")


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """Return the address of this site that a form names as ``next``, else the other one."""
    wished = str(request.POST.get("next", ""))
    safe = url_has_allowed_host_and_scheme(wished, {request.get_host()}, request.is_secure())
    return wished if safe and wished.startswith("/") else otherwise
