"""Tokens: made at random, kept as a hash only, compared in constant time, slowed down when one asks too often."""

import hashlib
import hmac
import secrets
import threading
import time
from collections import deque
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from drystow.web.accounts.models import ApiToken, FailedSignIn
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


FREE_TRIES = 5
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(hours=1)


@dataclass(frozen=True)
class Keys:
    """What the failures of a try are counted by.

    pair: the name from this address
    address: the address, whatever the name
    name: the name; it counts addresses that failed, each once
    """

    pair: str
    address: str
    name: str


def keys(name: str, address: str) -> Keys:
    """Return what the failures of a name from an address are counted by."""
    name = name.strip().lower()
    return Keys(f"pair:{address[:60]} {name[:130]}", f"address:{address[:180]}", f"name:{name[:180]}")


def begin_try(counted: Keys, now: datetime | None = None) -> timedelta:
    """Count one try and return zero, or return how long to wait first.

    The try is counted before the password is looked at, so that many tries at once are no way around.
    """
    moment = now or timezone.now()
    with transaction.atomic():
        FailedSignIn.objects.filter(last_at__lt=moment - FORGOTTEN_AFTER).delete()
        rows = {}
        for key in sorted((counted.pair, counted.address, counted.name)):
            FailedSignIn.objects.get_or_create(key=key, defaults={"last_at": moment})
            rows[key] = FailedSignIn.objects.select_for_update().get(key=key)
        known = rows[counted.pair].count > 0  # this address counts among those of the name already
        if known:
            del rows[counted.name]
        wait = max(row.last_at + wait_after(row.count) - moment for row in rows.values())
        if wait > timedelta(0):
            return wait
        for row in rows.values():
            row.count += 1
            row.last_at = moment
            row.save()
    return timedelta(0)


def succeeded(counted: Keys) -> None:
    """Forget the failures of a name, from this address and all told; the address only gets its last try back."""
    with transaction.atomic():
        FailedSignIn.objects.filter(key__in=(counted.pair, counted.name)).delete()
        row = FailedSignIn.objects.select_for_update().filter(key=counted.address).first()
        if row is not None:
            row.count = max(0, row.count - 1)
            row.save()


def wait_after(failures: int) -> timedelta:
    """Return how long to wait after so many failures."""
    if failures < FREE_TRIES:
        return timedelta(0)
    return min(LONGEST_WAIT, FIRST_WAIT * 2 ** min(failures - FREE_TRIES, 10))
