"""What every answer carries."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

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
