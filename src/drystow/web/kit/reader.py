"""Who reads the answer to a request: the language of the moment and the reader's units."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext, ngettext
from django_htmx.middleware import HtmxDetails

from drystow.messages import Reader

_units: ContextVar[str] = ContextVar("units", default="si")


@contextmanager
def reading_in(units: str) -> Iterator[None]:
    """Write quantities in a system of units, ``us`` or ``si``, until the end of the block."""
    before = _units.set(units)
    try:
        yield
    finally:
        _units.reset(before)


def reader() -> Reader:
    """Return who reads now; outside of a request quantities are in SI, as in logs and files."""
    return Reader(gettext, _units.get(), ngettext)


SYSTEMS = ("us", "si")
COOKIE = "units"
A_YEAR = 365 * 24 * 3600


def asks_for_part(request: HttpRequest) -> bool:
    """Return whether the answer is the changing part of the page only."""
    htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]  # its middleware puts it there
    return bool(htmx) and not htmx.history_restore_request


def wished_units(request: HttpRequest, usual: str) -> str:
    """Return the unit system of the address, else the remembered one, else the usual one of the kitchen."""
    for wish in (request.GET.get("units"), request.COOKIES.get(COOKIE)):
        if wish in SYSTEMS:
            return str(wish)
    return usual


def remember_units(request: HttpRequest, response: HttpResponse) -> None:
    """Remember the unit system when the address names one."""
    wish = request.GET.get("units")
    if wish in SYSTEMS:
        response.set_cookie(COOKIE, wish, max_age=A_YEAR, httponly=True, samesite="Lax")


def kitchen_zone(name: str) -> ZoneInfo:
    """Return the time zone that the kitchen names, UTC when this computer does not know it."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")


@cache
def time_zones() -> list[tuple[str, str]]:
    """Return every time zone that this computer knows."""
    return [(name, name.replace("_", " ")) for name in sorted(available_timezones())]
