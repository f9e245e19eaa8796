"""Tokens: made at random, kept as a hash only, compared in constant time, slowed down when one asks too often."""

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from datetime import timedelta

from django.utils import timezone

from drystow.web.accounts.models import ApiToken
from drystow.web.kit.background import task

PREFIX = "dry_"
LENGTH = 32  # random bytes
MOST_REQUESTS = 120  # of one token within the window
WINDOW = 60.0  # [s]
SEEN_EVERY = timedelta(minutes=1)

_lock = threading.Lock()
_asked: dict[str, deque[float]] = {}


def new_token(name: str, scope: str) -> tuple[ApiToken, str]:
    """Make a token; return it and its secret, which nobody can find out later.

    name: of the program that gets it
    scope: read or write
    """
    secret = PREFIX + secrets.token_urlsafe(LENGTH)
    return ApiToken.objects.create(name=name, scope=scope, hash=_hash(secret)), secret


def find_token(secret: str) -> ApiToken | None:
    """Return the token of a secret, None when there is none or it was revoked."""
    wanted, found = _hash(secret), None
    for token in ApiToken.objects.filter(revoked=None):
        if hmac.compare_digest(token.hash, wanted):
            found = token
    if found is not None and (found.last_used is None or timezone.now() - found.last_used > SEEN_EVERY):
        SEEN.ask(found.pk)
    return found


def note_seen(pk: int) -> None:
    """Keep that a token was used now."""
    ApiToken.objects.filter(pk=pk).update(last_used=timezone.now())


SEEN = task("token seen", note_seen)
"""Tokens that were used; noted beside the requests, as a program that only reads writes nothing."""


def wait_for(token: ApiToken) -> float:
    """Count a request and return how long its program has to wait, 0 when it may go on [s]."""
    now = time.monotonic()
    with _lock:
        times = _asked.setdefault(token.hash, deque())
        while times and times[0] <= now - WINDOW:
            times.popleft()
        if len(times) >= MOST_REQUESTS:
            return times[0] + WINDOW - now
        times.append(now)
    return 0.0


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
