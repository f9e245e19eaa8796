"""What every page knows."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from drystow.web.site.records import household
from drystow.web.site.wishes import wished_units

NAVIGATION = (
    # address name, words, folder of addresses that belong to it
    ("batches", "Batches", "/batches/"),
    ("pantry", "Pantry", "/pantry/"),
    ("foods", "Foods", "/foods/"),
    ("dryers", "Dryers", "/dryers/"),
    ("costs", "Costs", "/costs/"),
    ("settings", "Settings", "/settings/"),
)


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """Return the navigation with the current place marked, the settings of the house, and the units."""
    from django.urls import NoReverseMatch, reverse

    places = []
    for name, words, folder in NAVIGATION:
        try:
            places.append({"url": reverse(name), "words": words, "here": request.path.startswith(folder)})
        except NoReverseMatch:
            continue
    house = household()
    return {"navigation": places, "demo": settings.DEMO, "house": house, "units": wished_units(request, house.units)}
