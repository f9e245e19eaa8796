"""What a reader wishes and this browser remembers: the units."""

from django.http import HttpRequest, HttpResponse

SYSTEMS = ("us", "si")
COOKIE = "units"
A_YEAR = 365 * 24 * 3600


def wished_units(request: HttpRequest) -> str:
    """Return the unit system of the address, else the remembered one, else US."""
    for wish in (request.GET.get("units"), request.COOKIES.get(COOKIE)):
        if wish in SYSTEMS:
            return str(wish)
    return SYSTEMS[0]


def remember_units(request: HttpRequest, response: HttpResponse) -> None:
    """Remember the unit system when the address names one."""
    wish = request.GET.get("units")
    if wish in SYSTEMS:
        response.set_cookie(COOKIE, wish, max_age=A_YEAR, httponly=True, samesite="Lax")
