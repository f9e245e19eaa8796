"""What every page knows."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from drystow.web.accounts.people import role_of
from drystow.web.accounts.rights import may, may_use_forms
from drystow.web.kit import records
from drystow.web.kit.reader import wished_units

NAVIGATION = (
    # address name, words, folder of addresses that belong to it
    ("batches", _("Batches"), "/batches/"),
    ("plans", _("Plans"), "/plans/"),
    ("pantry", _("Pantry"), "/pantry/"),
    ("foods", _("Foods"), "/foods/"),
    ("dryers", _("Dryers"), "/dryers/"),
    ("costs", _("Costs"), "/costs/"),
    ("settings", _("Settings"), "/settings/"),
    ("data", _("Data"), "/data/"),
)

ON_A_PHONE = 3
"""Places that stand side by side on a phone; the others wait behind one word."""


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """Return the navigation with the current place marked, the settings of the kitchen, the units, and who is here."""
    kitchen = records.kitchen()
    role = role_of(request.user) if settings.LAN and hasattr(request, "user") else ""
    places: list[dict[str, Any]] = []
    for name, words, folder in NAVIGATION:
        if settings.LAN and not may(role, "GET", folder):
            continue
        here = request.path.startswith(folder)
        places.append({"url": reverse(name), "words": words, "here": here, "aside": len(places) >= ON_A_PHONE})
    return {
        "navigation": places,
        "aside": places[ON_A_PHONE:],
        "aside_here": next((place["words"] for place in places[ON_A_PHONE:] if place["here"]), ""),
        "demo": settings.DEMO,
        "demo_comes": settings.DEMO and _demo_comes(),
        "lan": settings.LAN,
        "role": role,
        "may_write": not settings.LAN or may_use_forms(role, request.path_info),
        "kitchen": kitchen,
        "units": wished_units(request, kitchen.units),
    }


def _demo_comes() -> bool:
    """Return whether the demo year is still being written; imported here, as the demo knows every app."""
    from drystow.web.demo.fill import is_being_filled

    return is_being_filled()
