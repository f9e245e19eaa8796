"""Who may ask for which address: every view declares it, and a view that declares nothing answers nobody."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Literal, TypeVar
from urllib.parse import urlencode

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, Resolver404, ResolverMatch, URLResolver, get_resolver, resolve, reverse

from drystow.web.accounts.people import HELPER, OWNER, ROLES, role_of

SAFE = ("GET", "HEAD", "OPTIONS")
ANYONE = "anyone"
"""Whoever asks, signed in or not."""
Least = Literal["anyone", "viewer", "helper", "owner"]
HELPERS_WORK = ("batches.", "plans.", "pantry.", "foods.")
"""Beginnings of the kinds of records that helpers write."""

View = TypeVar("View", bound=Callable[..., Any])


@dataclass(frozen=True)
class Right:
    """What a view lets whom do; each names the least role that may, None for nobody.

    reads: may look at it
    writes: may send it something
    forms: may use the forms on its page; those who may write where nothing else is said
    page: name of the page to which whoever looks here is led, where there is nothing to look at
    helpers: whether a helper may send just this, None where helpers may send all that the form takes
    programs: a token goes first; the operation behind it says what the token has to be for
    """

    reads: Least | None = None
    writes: Least | None = None
    forms: Least = "owner"
    page: str = ""
    helpers: Callable[..., bool] | None = None
    programs: bool = False

    def methods(self) -> list[str]:
        """Return the methods that the view answers."""
        return [*(("GET", "HEAD") if self.reads else ()), *(("POST",) if self.writes else ())]


NO_ADDRESS = Right(reads="viewer", writes="viewer")
"""Who is told that there is no such address."""


def right(
    *,
    reads: Least | None = None,
    writes: Least | None = None,
    forms: Least | None = None,
    page: str = "",
    helpers: Callable[..., bool] | None = None,
    programs: bool = False,
) -> Callable[[View], View]:
    """Declare who may ask for a view; see `Right` for the words."""
    declared = Right(reads, writes, forms or writes or "owner", page, helpers, programs)

    def declare(view: View) -> View:
        declaring: Any = view
        declaring.right = declared
        return view

    return declare


def right_of(view: Callable[..., Any]) -> Right:
    """Return what a view declares."""
    found = getattr(view, "right", None)
    if not isinstance(found, Right):
        raise ImproperlyConfigured(f"{view} declares no right; write @right(…) above it")
    return found


def addresses(resolver: URLResolver | None = None, before: str = "") -> Iterator[tuple[str, Right]]:
    """Yield every address of the site, as its URL patterns write it, with what its view declares."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = f"{before}{pattern.pattern}"
        if isinstance(pattern, URLResolver):
            yield from addresses(pattern, route)
        else:
            yield route, right_of(pattern.callback)


def reaches(role: str, least: Least | None) -> bool:
    """Return whether a role may what another one is the least for."""
    if least is None or role not in ROLES:
        return least == ANYONE
    return least == ANYONE or ROLES.index(role) <= ROLES.index(least)


def may(role: str, method: str, path: str) -> bool:
    """Return whether a role may ask for an address with a method; for no address of this site, False."""
    found = _found(path)
    if found is None:
        return False
    declared = right_of(found.func)
    return reaches(role, declared.reads if method in SAFE else declared.writes)


def may_use_forms(role: str, path: str) -> bool:
    """Return whether a role may use the forms of a page."""
    found = _found(path)
    return found is None or reaches(role, right_of(found.func).forms)


def role_here(request: HttpRequest) -> str | None:
    """Return the role of who asks; None where there are no accounts, so that everything is allowed."""
    return role_of(request.user) if settings.LAN else None


def may_take_back(role: str, kinds: Iterable[str]) -> bool:
    """Return whether a role may undo changes of these kinds of records, or take them out of the bin."""
    return role == OWNER or (role == HELPER and all(kind.startswith(HELPERS_WORK) for kind in kinds))


def rights_kept(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware that lets in whom a view declares; without accounts that is whoever sits here."""

    def respond(request: HttpRequest) -> HttpResponse:
        found = _found(request.path_info)
        declared = NO_ADDRESS if found is None else right_of(found.func)
        if declared.programs and request.headers.get("Authorization", "").startswith("Bearer "):
            return get_response(request)
        least = declared.reads if request.method in SAFE else declared.writes
        if least != ANYONE and not _known(request):
            return _sign_in_first(request)
        if least is None and declared.page and found is not None and request.method in SAFE:
            return _page_of(declared, found)
        if least is None or (request.method not in (*SAFE, "POST") and not declared.programs):
            return HttpResponseNotAllowed(declared.methods())
        if not settings.LAN or least == ANYONE:
            return get_response(request)
        if not _lets(request, declared, least, {} if found is None else found.kwargs):
            return render(request, "accounts/not_allowed.html", status=403)
        response = get_response(request)
        response.headers["Cache-Control"] = "private, no-store"
        return response

    return respond


def _known(request: HttpRequest) -> bool:
    return not settings.LAN or bool(request.user.is_authenticated)


def _lets(request: HttpRequest, declared: Right, least: Least, values: dict[str, Any]) -> bool:
    role = role_of(request.user)
    if role != HELPER or request.method in SAFE or declared.helpers is None:
        return reaches(role, least)
    return reaches(role, least) and declared.helpers(request, **values)


def _found(path: str) -> ResolverMatch | None:
    """Return the view of an address, None when there is none."""
    try:
        return resolve(path)
    except Resolver404:
        return None


def _page_of(declared: Right, found: ResolverMatch) -> HttpResponse:
    """Lead to the page of an address, which has the first of its numbers."""
    numbers = [*found.kwargs.values()]
    while numbers:
        try:
            return redirect(reverse(declared.page, args=numbers))
        except NoReverseMatch:
            numbers.pop()
    return redirect(declared.page)


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    back = request.get_full_path() if request.method in SAFE else "/"
    address = f"{reverse('sign-in')}?{urlencode({'next': back})}"
    if request.headers.get("HX-Request") == "true":  # a part of a page: let the whole page go there
        return HttpResponse(status=204, headers={"HX-Redirect": f"{reverse('sign-in')}?{urlencode({'next': '/'})}"})
    return HttpResponseRedirect(address)
