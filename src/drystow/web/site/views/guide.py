"""The first steps, with what is done already."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.accounts.rights import right
from drystow.web.batches.models import Batch
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.notices import person
from drystow.web.pantry.models import Package, Place


@right(reads="viewer", writes="owner")
def show_guide(request: HttpRequest) -> HttpResponse:
    """Show the five first steps; a POST says that the guide is no longer needed."""
    kitchen = records.kitchen()
    if request.method == "POST":
        records.change(
            kitchen,
            {"guide_done": True},
            expected=kitchen.version,
            who=person(request),
            words=msg("first steps finished"),
        )
        return redirect("batches" if _address("batches") else "settings")
    steps: list[dict[str, Any]] = [
        {
            "title": _("Choose your units"),
            "words": _("Units, altitude, time zone and the price of electricity."),
            "url": _address("settings"),
            "done": kitchen.version > 1,
        },
        {
            "title": _("Describe your dryer"),
            "words": _("Choose the closest one and enter the numbers you know."),
            "url": _address("dryers"),
            "done": Dryer.objects.kept().exists(),
        },
        {
            "title": _("Plan the first batch"),
            "words": _("What goes in, how it is cut and on which tray. See how long it will take."),
            "url": _address("batches"),
            "done": Batch.objects.kept().exists(),
        },
        {
            "title": _("Name the places where you keep food"),
            "words": _("The temperature of a place decides how long food stays good."),
            "url": _address("pantry"),
            "done": Place.objects.kept().exists(),
        },
        {
            "title": _("Pack and label"),
            "words": _("At the end of the batch: packages, absorbers, dates and printed labels."),
            "url": _address("batches"),
            "done": Package.objects.kept().exists(),
        },
    ]
    done = sum(step["done"] for step in steps)
    following = next((step for step in steps if not step["done"]), None)
    return render(request, "site/guide.html", {"steps": steps, "done": done, "following": following})


def _address(name: str) -> str:
    try:
        return str(reverse(name))
    except NoReverseMatch:
        return ""
