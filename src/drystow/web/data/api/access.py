"""Who may ask: a token in the header, for reading or for writing too; and long lists, page by page."""

import math
from collections.abc import Callable
from typing import Annotated, Any

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from ninja import Query
from ninja.errors import AuthenticationError, HttpError
from ninja.security import HttpBearer

from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.people import role_of
from drystow.web.accounts.tokens import WINDOW, find_token, wait_for


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
    token: ApiToken = request.auth
    return f"program: {token.name}"[:80]


WRITE = Bearer("write")


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
