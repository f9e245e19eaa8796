"""Writes with a key: what was sent, and its first answer: claimed, kept, given again, forgotten after a day."""

import hashlib
import json
import time
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.utils.crypto import salted_hmac

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.accounts.tokens import find_token
from drystow.web.once.models import Sent
from drystow.web.once.templatetags.once import FIELD

SAFE = ("GET", "HEAD", "OPTIONS", "TRACE")
HEADER = "Idempotency-Key"
"""As draft-ietf-httpapi-idempotency-key-header names it; a string in quotes, or bare."""
LONGEST = 255
BEARER = "Bearer "
API = "/api/"
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True)
class Sending:
    """A write with a key.

    mark: of the person, the address and the key; for a form of what it holds too
    content: of all that was sent
    """

    mark: str
    content: str


def sending_of(request: HttpRequest) -> Sending | None:
    """Return what a request sends under a key, None when it does not write, has no key, or nobody knows who sends it.

    Raises `InputError` when the header of a program is no key.
    """
    if request.method in SAFE:
        return None
    program = request.path_info.startswith(API)
    key = header_key(request) if program else _form_key(request)
    person = _person(request) if key else None
    if person is None:
        return None
    content = _hash(str(request.content_type), *_content(request))
    # Whoever goes back to a form and changes it means a new write; a program that changes it has mixed up its keys.
    mark = _hash(person, str(request.method), request.get_full_path(), key, *(() if program else (content,)))
    return Sending(mark, content)


def header_key(request: HttpRequest) -> str:
    """Return the key that a program sends, empty when it sends none."""
    if HEADER not in request.headers:
        return ""
    written = request.headers[HEADER].strip()
    key = written[1:-1] if len(written) > 1 and written[0] == written[-1] == '"' else written
    if not 0 < len(key) <= LONGEST or not key.isascii() or not key.isprintable():
        words = msg(
            "'{key}' is not a key; send 1 to {longest} printable ASCII characters, new ones for every write",
            key=written[:40],
            longest=LONGEST,
        )
        raise InputError(HEADER, words)
    return key


def _form_key(request: HttpRequest) -> str:
    try:
        return str(request.POST.get(FIELD, ""))[:LONGEST]
    except UnreadablePostError:  # the network broke off; the check of Django's own token refuses it
        return ""


def _person(request: HttpRequest) -> str | None:
    """Return who sends it; None for strangers, who can only sign in or be refused."""
    if request.path_info.startswith(API):
        written = request.headers.get("Authorization", "")
        token = find_token(written.removeprefix(BEARER)) if written.startswith(BEARER) else None
        return None if token is None else f"token {token.pk}"
    if not settings.LAN:
        return "kitchen"
    return f"account {request.user.pk}" if request.user.is_authenticated else None


def _content(request: HttpRequest) -> list[str]:
    if request.content_type not in FORMS:
        return [hashlib.sha256(request.body).hexdigest()]
    fields = {name: values for name, values in request.POST.lists() if name not in (FIELD, "csrfmiddlewaretoken")}
    files = [(name, file.name, _hash_of_file(file)) for name, many in request.FILES.lists() for file in many]
    return [json.dumps([sorted(fields.items()), sorted(files)])]


def _hash_of_file(file: Any) -> str:
    found = hashlib.sha256()
    for chunk in file.chunks():
        found.update(chunk)
    file.seek(0)
    return found.hexdigest()


def _hash(*parts: str) -> str:
    """Return a hash with the secret of this kitchen: a form may hold a password."""
    return salted_hmac("drystow.web.once", json.dumps(parts), algorithm="sha256").hexdigest()


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
