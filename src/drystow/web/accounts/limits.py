"""Slows down whoever guesses passwords: after five failures each further try has to wait, longer every time."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from drystow.web.accounts.models import FailedSignIn

FREE_TRIES = 5
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(hours=1)


def keys(name: str, address: str) -> tuple[str, str]:
    """Return what failures are counted by: the name and the address."""
    return f"name:{name.strip().lower()[:180]}", f"address:{address[:180]}"


def begin_try(counted: Iterable[str], now: datetime | None = None) -> timedelta:
    """Count one try and return zero, or return how long to wait first.

    The try is counted before the password is looked at, so that many tries at once are no way around.
    """
    moment = now or timezone.now()
    with transaction.atomic():
        FailedSignIn.objects.filter(last_at__lt=moment - FORGOTTEN_AFTER).delete()
        rows = []
        for key in sorted(counted):
            FailedSignIn.objects.get_or_create(key=key, defaults={"last_at": moment})
            rows.append(FailedSignIn.objects.select_for_update().get(key=key))
        wait = max(row.last_at + wait_after(row.count) - moment for row in rows)
        if wait > timedelta(0):
            return wait
        for row in rows:
            row.count += 1
            row.last_at = moment
            row.save()
    return timedelta(0)


def succeeded(name_key: str, address_key: str) -> None:
    """Forget the failures of a name; the address only gets back the try that succeeded."""
    with transaction.atomic():
        FailedSignIn.objects.filter(key=name_key).delete()
        row = FailedSignIn.objects.select_for_update().filter(key=address_key).first()
        if row is not None:
            row.count = max(0, row.count - 1)
            row.save()


def wait_after(failures: int) -> timedelta:
    """Return how long to wait after so many failures."""
    if failures < FREE_TRIES:
        return timedelta(0)
    return min(LONGEST_WAIT, FIRST_WAIT * 2 ** min(failures - FREE_TRIES, 10))
