"""Lets in whom an account lets in, and lets each role do what it may; only when other devices are let in at all."""

import re
from collections.abc import Callable, Iterable
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import Resolver404, resolve, reverse

from drystow.web.accounts.people import HELPER, OWNER, VIEWER, role_of
from drystow.web.kit.models import Change
from drystow.web.kit.undoing import parts_of

SAFE = ("GET", "HEAD", "OPTIONS")
OPEN = ("/sign-in/",)
OWNERS_ONLY = ("/settings/", "/accounts/", "/data/")
HELPERS_WRITE = ("/batches/", "/plans/", "/pantry/", "/foods/")
HELPERS_READINGS = re.compile(r"/dryers/\d+/readings/")
"""Readings come in for a dryer, which itself is the owner's."""
HELPERS_WORK = ("batches.", "plans.", "pantry.", "foods.")
EVERYONE_WRITES = ("/sign-out/", "/password/")
API = "/api/"


def accounts_guard(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware that checks account and role before anything else answers."""

    def respond(request: HttpRequest) -> HttpResponse:
        if not settings.LAN or request.path_info in OPEN or _carries_token(request):
            return get_response(request)
        if not request.user.is_authenticated:
            return _sign_in_first(request)
        role = role_of(request.user)
        if not (may(role, request.method or "", request.path_info) or (role == HELPER and _takes_back_work(request))):
            return render(request, "accounts/not_allowed.html", status=403)
        response = get_response(request)
        response.headers["Cache-Control"] = "private, no-store"
        return response

    return respond


def may(role: str, method: str, path: str) -> bool:
    """Return whether a role may ask for an address with a method."""
    if role == OWNER or (role in (HELPER, VIEWER) and path.startswith(EVERYONE_WRITES)):
        return True
    if role not in (HELPER, VIEWER) or path.startswith(OWNERS_ONLY):
        return False
    if method in SAFE:
        return True
    return role == HELPER and (path.startswith(HELPERS_WRITE) or HELPERS_READINGS.match(path) is not None)


def role_here(request: HttpRequest) -> str | None:
    """Return the role of who asks; None where there are no accounts, so that everything is allowed."""
    return role_of(request.user) if settings.LAN else None


def may_take_back(role: str, kinds: Iterable[str]) -> bool:
    """Return whether a role may undo changes of these kinds of records, or take them out of the bin."""
    return role == OWNER or (role == HELPER and all(kind.startswith(HELPERS_WORK) for kind in kinds))


def _takes_back_work(request: HttpRequest) -> bool:
    """Return whether a request undoes, or takes out of the bin, only what a helper could have written."""
    try:
        found = resolve(request.path_info)
    except Resolver404:
        return False
    if found.url_name == "undo":
        change = Change.objects.filter(pk=found.kwargs.get("pk")).first()
        return change is not None and may_take_back(HELPER, {one.kind for one in parts_of(change)})
    if found.url_name == "restore":
        return may_take_back(HELPER, {request.POST.get("kind", "")})
    return False


def _carries_token(request: HttpRequest) -> bool:
    """Return whether this is a program with a token; the programs' interface checks the token itself."""
    return request.path_info.startswith(API) and request.headers.get("Authorization", "").startswith("Bearer ")


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    back = request.get_full_path() if request.method in SAFE else "/"
    address = f"{reverse('sign-in')}?{urlencode({'next': back})}"
    if request.headers.get("HX-Request") == "true":  # a part of a page: let the whole page go there
        return HttpResponse(status=204, headers={"HX-Redirect": f"{reverse('sign-in')}?{urlencode({'next': '/'})}"})
    return HttpResponseRedirect(address)
