"""The first answer to a write: claimed before it is worked on, kept, given again, forgotten after a day."""

import time
import zlib
from collections.abc import Callable
from datetime import timedelta

from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone

from drystow.web.once.models import Sent
from drystow.web.once.sending import Sending

KEPT_FOR = timedelta(days=1)
LONGEST_WAIT = 20.0  # for the answer to the first one [s]
LOST_AFTER = timedelta(minutes=2)
"""A first one that has no answer by then never gets one: the program stopped meanwhile."""
LOOK_EVERY = 0.05  # [s]
MOST_BYTES = 2_000_000
PAGES = ("text/html", "application/json")
"""Kinds of answers that take the place of the page with the form; a file to save does not, and may be wanted again."""
SHOWN_ONCE = "shown_once"


def shown_once(response: HttpResponse) -> HttpResponse:
    """Mark an answer that holds a secret: that it was given is kept, what it says is not."""
    setattr(response, SHOWN_ONCE, True)
    return response


def claim(sending: Sending) -> Sent | None:
    """Return None for the first one, who has to answer and then `keep` or `release`; else what was sent before."""
    Sent.objects.filter(at__lt=timezone.now() - KEPT_FOR).delete()
    found = Sent.objects.filter(mark=sending.mark).first()
    if found is not None:
        return found
    try:
        with transaction.atomic():
            Sent.objects.create(mark=sending.mark, content=sending.content)
    except IntegrityError:  # somebody was faster by less than a moment
        return Sent.objects.filter(mark=sending.mark).first() or claim(sending)
    return None


def answered(sent: Sent, sleep: Callable[[float], None] = time.sleep) -> Sent | None:
    """Wait for the answer to the first one and return it without a status when none came; None when it was refused."""
    until = time.monotonic() + LONGEST_WAIT
    now: Sent | None = sent
    while now is not None and now.status is None:
        if time.monotonic() > until or timezone.now() - now.at > LOST_AFTER:
            return now
        sleep(LOOK_EVERY)
        now = Sent.objects.filter(pk=sent.pk).first()
    return now


def keep(sending: Sending, response: HttpResponseBase) -> None:
    """Keep the answer to a write that was taken; forget one that was refused, so that it may be sent again."""
    page = isinstance(response, HttpResponse) and _is_page(response)
    if response.status_code >= 400 or not page:
        release(sending)
        return
    assert isinstance(response, HttpResponse)
    secret = getattr(response, SHOWN_ONCE, False) or len(response.content) > MOST_BYTES
    Sent.objects.filter(mark=sending.mark).update(
        status=response.status_code,
        headers=dict(response.headers),
        cookies=[morsel.OutputString() for morsel in response.cookies.values()],
        body=None if secret else zlib.compress(response.content),
    )


def release(sending: Sending) -> None:
    """Forget a write that did not happen."""
    Sent.objects.filter(mark=sending.mark).delete()


def again(sent: Sent) -> HttpResponse | None:
    """Return the kept answer, None when it was shown only once."""
    if sent.body is None:
        return None
    response = HttpResponse(zlib.decompress(bytes(sent.body)), status=sent.status, headers=sent.headers)
    for written in sent.cookies:
        response.cookies.load(written)
    return response


def _is_page(response: HttpResponse) -> bool:
    kind = response.headers.get("Content-Type", "").partition(";")[0]
    return 300 <= response.status_code < 400 or kind in PAGES or not response.content
