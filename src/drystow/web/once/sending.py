"""What was sent, by whom and under which key; nothing of it can be read back from what is kept."""

import hashlib
import json
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest, UnreadablePostError
from django.utils.crypto import salted_hmac

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.accounts.tokens import find_token
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
