"""The time zone, the language and the units of the kitchen, for every answer."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone, translation

from drystow.errors import InputError, InputErrors
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.reader import kitchen_zone, reading_in, wished_units
from drystow.web.kit.records import one_request


def kitchen_ways(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware that speaks the kitchen's language, shows its clock and writes in the reader's units."""

    def respond(request: HttpRequest) -> HttpResponse:
        with one_request():
            return answer(request, records.kitchen())

    def answer(request: HttpRequest, kitchen: Kitchen) -> HttpResponse:
        units = wished_units(request, kitchen.units)
        with (
            timezone.override(kitchen_zone(kitchen.time_zone)),
            translation.override(kitchen.language),
            reading_in(units),
        ):
            response = get_response(request)
        response.headers.setdefault("Content-Language", kitchen.language)
        return response

    return respond


class SayWhatIsWrong:
    """Answers with the engine's own sentence when something kept no longer works out, such as a recipe."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Return the answer."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Return a page with the sentences of an engine error; other errors go on."""
        if not isinstance(exception, (InputError, InputErrors)):
            return None
        return render(request, "kit/problem.html", {"problems": exception.problems}, status=422)
