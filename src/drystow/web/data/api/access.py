"""Who may ask, with a token in the header; long lists page by page; every error as JSON."""

import math
from collections.abc import Callable
from typing import Annotated, Any

from django.conf import settings
from django.core.exceptions import ValidationError as ModelError
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from ninja import NinjaAPI, Query
from ninja.errors import AuthenticationError, HttpError, ValidationError
from ninja.security import HttpBearer

from drystow.errors import InputError, InputErrors
from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.people import role_of
from drystow.web.accounts.tokens import WINDOW, find_token, wait_for
from drystow.web.kit.differences import refusal_words
from drystow.web.kit.reader import reader
from drystow.web.kit.records import Conflict, Gone


class Bearer(HttpBearer):
    """Lets in whoever sends a valid token with the needed scope."""

    def __init__(self, scope: str) -> None:
        super().__init__()
        self.scope = scope

    def authenticate(self, request: HttpRequest, token: str) -> Any:
        """Return the token, or None when there is none like it."""
        found = find_token(token)
        if found is None:
            return None
        wait = wait_for(found)
        if wait > 0:
            raise HttpError(429, f"too many requests; wait {math.ceil(wait)} s (the count covers {round(WINDOW)} s)")
        if self.scope == "write" and found.scope != "write":
            raise HttpError(403, "this token may only read; make one that may write on the Data page")
        return found


def for_the_known(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Return the view of a description of the interface, for programs with a token and people who are signed in.

    Without accounts whoever sits at this computer is known. A token that is sent has to be valid in any case.
    """

    def answer(request: HttpRequest, *arguments: Any, **options: Any) -> HttpResponse:
        try:
            if "Authorization" in request.headers:
                known = Bearer("read")(request) is not None
            else:
                known = not settings.LAN or bool(role_of(request.user))
            if not known:
                raise AuthenticationError
        except (AuthenticationError, HttpError) as problem:
            told: HttpResponse = view.keywords["api"].on_exception(request, problem)  # type: ignore[attr-defined]
            return told
        return view(request, *arguments, **options)

    return answer


def who(request: HttpRequest) -> str:
    """Return the name under which the history keeps what a program wrote."""
    token: ApiToken = request.auth  # type: ignore[attr-defined]  # the API puts there who was let in
    return f"program: {token.name}"[:80]


def undeclared(_request: HttpRequest) -> None:
    """Refuse whoever asks for an operation that does not say which token it takes."""
    raise HttpError(403, "this operation declares no right, so it answers nobody")


READ, WRITE = Bearer("read"), Bearer("write")
"""The rights of the operations."""


PAGE = 50
PageNumber = Annotated[int, Query(ge=1, le=100_000)]


def page_of(rows: "QuerySet[Any]", page: int, shown: Callable[[Any], dict[str, Any]]) -> dict[str, Any]:
    """Return one page of rows with how many there are.

    rows: in their order
    page: from 1
    shown: row -> plain data
    """
    count = rows.count()
    numbers = list(rows.values_list("pk", flat=True)[(page - 1) * PAGE : page * PAGE])  # found by an index alone
    found = rows.order_by().in_bulk(numbers)
    results = [shown(found[number]) for number in numbers if number in found]
    return {"count": count, "page": page, "pages": max(-(-count // PAGE), 1), "results": results}


def tell_errors(api: NinjaAPI) -> None:
    """Register the answers to errors."""

    def answer(request: HttpRequest, status: int, message: str, problems: list[dict[str, str]]) -> HttpResponse:
        return api.create_response(request, {"message": message, "problems": problems}, status=status)

    def unknown_token(request: HttpRequest, _problem: Any) -> HttpResponse:
        words = "a valid token is needed: send 'Authorization: Bearer dry_…'; tokens are made on the Data page"
        response = answer(request, 401, words, [])
        response.headers["WWW-Authenticate"] = "Bearer"
        return response

    def told(request: HttpRequest, problem: HttpError) -> HttpResponse:
        response = answer(request, problem.status_code, str(problem), [])
        if problem.status_code == 429:
            response.headers["Retry-After"] = "".join(
                sign for sign in str(problem).partition(" s ")[0] if sign.isdigit()
            )
        return response

    def not_there(request: HttpRequest, _problem: Any) -> HttpResponse:
        return answer(request, 404, "there is no such record; check its number or code", [])

    def one_problem(request: HttpRequest, problem: InputError) -> HttpResponse:
        return answer(request, 422, str(problem), [{"field": problem.field, "message": problem.message}])

    def many_problems(request: HttpRequest, many: InputErrors) -> HttpResponse:
        found = [{"field": problem.field, "message": problem.message} for problem in many.problems]
        return answer(request, 422, str(many), found)

    def wrong_form(request: HttpRequest, problem: ValidationError) -> HttpResponse:
        found = [
            {"field": ".".join(str(part) for part in error["loc"][2:]) or "body", "message": str(error["msg"])}
            for error in problem.errors
        ]
        return answer(request, 422, "; ".join(f"{row['field']}: {row['message']}" for row in found), found)

    def wrong_record(request: HttpRequest, problem: ModelError) -> HttpResponse:
        found = [{"field": name, "message": " ".join(words)} for name, words in problem.message_dict.items()]
        return answer(request, 422, "; ".join(f"{row['field']}: {row['message']}" for row in found), found)

    def changed_meanwhile(request: HttpRequest, problem: Conflict | Gone) -> HttpResponse:
        return answer(request, 409, refusal_words(problem, reader().units), [])

    api.exception_handler(AuthenticationError)(unknown_token)
    api.exception_handler(HttpError)(told)
    api.exception_handler(Http404)(not_there)
    api.exception_handler(InputError)(one_problem)
    api.exception_handler(InputErrors)(many_problems)
    api.exception_handler(ValidationError)(wrong_form)
    api.exception_handler(ModelError)(wrong_record)
    api.exception_handler(Conflict)(changed_meanwhile)
    api.exception_handler(Gone)(changed_meanwhile)
