"""What a request may bring along, by its address, and what every answer carries."""

import copy
import re
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.utilities import RequestEntityTooLarge

OWN_CONTENT_ONLY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Everything comes from this server; no inline script or style runs."""

NO_DEVICES = ", ".join(
    f"{part}=()"
    for part in ("camera", "display-capture", "geolocation", "microphone", "midi", "payment", "serial", "usb")
)
"""No page asks for a camera, a place or a microphone; photos come through the browser's own file picker."""


def own_content_only(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Return the middleware that tells the browser to load nothing from elsewhere."""

    def respond(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", OWN_CONTENT_ONLY)
        response.headers.setdefault("Permissions-Policy", NO_DEVICES)
        return response

    return respond


MB = 1_000_000
ORDINARY = MB
"""For forms, load files, and programs [bytes]. Source: drystow-default."""
LARGER = (
    (re.compile(r"/data/restore/"), 2000 * MB),
    (re.compile(r"/dryers/\d+/readings/file/"), 60 * MB),
    (re.compile(r"/batches/\d+/running/note/"), 25 * MB),
    (re.compile(r"/api/v1/dryers/\d+/readings"), 3 * MB),
)
"""Addresses that take files, or many readings at once."""
WORDS = (
    "This is over {most} MB, more than this address takes; send less at once, or a smaller file.",
    "Pesa más de {most} MB, más de lo que acepta esta dirección; envíe menos de una vez o un archivo más pequeño.",
    "A larger backup: drystow restore FILE.zip",
)


def most_bytes(path: str) -> int:
    """Return how much a request may bring along.

    path: of its address, without the query
    """
    return next((most for pattern, most in LARGER if pattern.fullmatch(path)), ORDINARY)


class Parser(HTTPRequestParser):
    """Reads a request, and its body only as far as its address may take it."""

    adj: Any
    error: Any

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head of a request, and bound its body."""
        super().parse_header(header_plus)
        self.adj = copy.copy(self.adj)
        self.adj.max_request_body_size = most_bytes(self.path) + 1  # this many are too many

    def received(self, data: bytes) -> int:
        """Take what came, and say why more is not taken."""
        taken: int = super().received(data)
        if isinstance(self.error, RequestEntityTooLarge):
            self.expect_continue = False  # else the body would be asked for
            lines = WORDS if "/restore/" in self.path else WORDS[:2]
            self.error = RequestEntityTooLarge("\n".join(lines).format(most=most_bytes(self.path) // MB))
        return taken


class BoundedChannel(HTTPChannel):
    """A connection whose requests are bounded."""

    parser_class = Parser


def bounded(server: Any) -> Any:
    """Return a waitress server whose requests are bounded from now on."""
    server.channel_class = BoundedChannel
    return server
