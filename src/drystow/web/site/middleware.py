"""The time zone and the language of the house, for every answer."""

from collections.abc import Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.http import HttpRequest, HttpResponse
from django.utils import timezone, translation

from drystow.web.site.models import Household
from drystow.web.site.records import household, one_request


def house_ways(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware that speaks the language of the house and shows its clock."""

    def respond(request: HttpRequest) -> HttpResponse:
        with one_request():
            return answer(request, household())

    def answer(request: HttpRequest, house: Household) -> HttpResponse:
        with timezone.override(_zone(house.time_zone)), translation.override(house.language):
            response = get_response(request)
        response.headers.setdefault("Content-Language", house.language)
        return response

    return respond


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo("UTC")
