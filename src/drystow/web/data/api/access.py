"""Who may ask: a token in the header, one for reading or one for writing too."""

import math
from typing import Any

from django.http import HttpRequest
from ninja.errors import HttpError
from ninja.security import HttpBearer

from drystow.web.data.models import ApiToken
from drystow.web.data.tokens import WINDOW, find_token, wait_for


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
            raise HttpError(429, f"too many requests; wait {math.ceil(wait)} s (the count covers {WINDOW:.0f} s)")
        if self.scope == "write" and found.scope != "write":
            raise HttpError(403, "this token may only read; make one that may write on the Data page")
        return found


def who(request: HttpRequest) -> str:
    """Return the name under which the history keeps what a program wrote."""
    token: ApiToken = request.auth
    return f"program: {token.name}"[:80]


WRITE = Bearer("write")
