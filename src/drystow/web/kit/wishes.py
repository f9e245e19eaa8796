"""What a reader wishes and this browser remembers: the units."""

from django.http import HttpRequest, HttpResponse

SYSTEMS = ("us", "si")
COOKIE = "units"
A_YEAR = 365 * 24 * 3600


def wished_units(request: HttpRequest, usual: str) -> str:
    """Return the unit system of the address, else the remembered one, else the usual one of the house."""
    for wish in (request.GET.get("units"), request.COOKIES.get(COOKIE)):
        if wish in SYSTEMS:
            return str(wish)
    return usual


def remember_units(request: HttpRequest, response: HttpResponse) -> None:
    """Remember the unit system when the address names one."""
    wish = request.GET.get("units")
    if wish in SYSTEMS:
        response.set_cookie(COOKIE, wish, max_age=A_YEAR, httponly=True, samesite="Lax")
