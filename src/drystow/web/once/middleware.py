"""Stands between a write and the page that does it: what comes a second time gets the first answer."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.once import answers
from drystow.web.once.answers import API, HEADER, Sending, sending_of

OTHER_KEY = msg("this key was used before with another request; send a new key with every new write")
LOST = 409, msg("this was sent before and has had no answer yet; check whether it was saved before you send it again")
SHOWN = 409, msg("this was saved the first time it was sent; its answer is shown only that one time")


def each_write_once(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Return the middleware that answers a repeated write with the first answer."""

    def respond(request: HttpRequest) -> HttpResponseBase:
        try:
            sending = sending_of(request)
        except InputError as problem:
            return _refusal(request, 422, problem.message)
        return get_response(request) if sending is None else answer(request, sending)

    def answer(request: HttpRequest, sending: Sending) -> HttpResponseBase:
        before = answers.claim(sending)
        if before is None:
            return first(request, sending)
        if before.content != sending.content:
            return _refusal(request, 422, OTHER_KEY)
        done = answers.answered(before)
        if done is None:  # the first one was refused
            return answer(request, sending)
        if done.status is None:
            return _refusal(request, *LOST)
        return answers.again(done) or _refusal(request, *SHOWN)

    def first(request: HttpRequest, sending: Sending) -> HttpResponseBase:
        try:
            response = get_response(request)
        except BaseException:
            answers.release(sending)
            raise
        answers.keep(sending, response)
        return response

    return respond


def _refusal(request: HttpRequest, status: int, words: str) -> HttpResponse:
    if request.path_info.startswith(API):
        problems = [{"field": HEADER, "message": words}]
        return JsonResponse({"message": f"{HEADER}: {words}", "problems": problems}, status=status)
    return render(request, "once/sent_before.html", {"words": words}, status=status)
