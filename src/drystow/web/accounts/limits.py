"""Slows down whoever guesses passwords: after five failures each further try has to wait, longer every time.

Counted are the failures of one address, those of one name from one address, and the addresses from which a name failed:
whoever guesses from one address shuts nobody out anywhere else, and many addresses together do not guess faster.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from drystow.web.accounts.models import FailedSignIn

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
