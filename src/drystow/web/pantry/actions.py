"""What can be done with a package: each changes its record and adds a movement, both or neither.

Masses add up: packed - used - given away - discarded + counted = left. Taking a change back adds a counted movement.
"""

from typing import Any

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.reports.text import mass_text
from drystow.said import say
from drystow.web.pantry.models import Movement, Package, Place
from drystow.web.site import records
from drystow.web.site.models import Change
from drystow.web.site.words import in_english, in_words

CLOSED = ("used", "given", "discarded")
UNDONE = say("undone")
CRUMBS_KG = 0.0005
"""Less than this is nothing: half of what a kitchen scale shows."""


def packed(package: Package, *, who: str = "", note: str = "") -> Movement:
    """Record that a new package was closed."""
    return _moved(package, "packed", mass_kg=package.net_mass_kg, place=package.place, who=who, note=note)


def open_package(package: Package, *, expected: int, who: str = "") -> Package:
    """Record that a package was opened."""
    if package.state != "stored":
        raise InputError("state", _("this package is %(state)s already") % {"state": package.get_state_display()})
    changes = {"state": "open", "opened_on": timezone.localdate()}
    with transaction.atomic():
        changed = records.change(package, changes, expected=expected, who=who, words=say("opened"))
        _moved(changed, "opened", who=who)
    return changed


def take(
    package: Package, kind: str, mass_kg: float, *, expected: int, who: str = "", to: str = "", note: str = ""
) -> Package:
    """Take food out of a package.

    kind: used, given or discarded
    mass_kg: how much; all that is left closes the package for good
    """
    if package.state in CLOSED:
        raise InputError("mass", _("nothing is left in this package; check whether it is the right one"))
    if mass_kg <= 0:
        raise InputError("mass", _("nothing was taken; write how much, for example 50 g"))
    if mass_kg > package.left_mass_kg + CRUMBS_KG:
        left = say(
            "{mass} ({metric})",
            mass=mass_text(package.left_mass_kg, "us"),
            metric=mass_text(package.left_mass_kg, "si"),
        )
        raise InputError(
            "mass", _("only %(left)s is left; write that or less, or count the shelf") % {"left": in_words(left)}
        )
    left_kg = package.left_mass_kg - mass_kg
    empty = left_kg < CRUMBS_KG
    changes: dict[str, Any] = {"left_mass_kg": 0.0 if empty else left_kg, "state": kind if empty else "open"}
    if package.opened_on is None and not (empty and kind in ("given", "discarded")):
        changes["opened_on"] = timezone.localdate()
    taken = package.left_mass_kg if empty else mass_kg
    words = say("{what} {mass}", what=in_english(dict(Movement.KINDS)[kind]), mass=mass_text(taken, "si"))
    with transaction.atomic():
        changed = records.change(package, changes, expected=expected, who=who, words=words)
        _moved(changed, kind, mass_kg=taken, who=who, to=to, note=note)
    return changed


def move(package: Package, place: Place, *, expected: int, who: str = "") -> Package:
    """Put a package in another place."""
    if place.pk == package.place_id:
        raise InputError("place", _("it is there already; choose another place"))
    with transaction.atomic():
        words = say("moved to {place}", place=place.name)
        changed = records.change(package, {"place": place}, expected=expected, who=who, words=words)
        _moved(changed, "moved", place=place, who=who)
    return changed


def count(package: Package, left_kg: float, *, expected: int, who: str = "", note: str = "") -> Package:
    """Write down what was found of a package: a difference becomes a counted movement, none leaves all as it is."""
    difference = left_kg - package.left_mass_kg
    if abs(difference) < CRUMBS_KG:
        return package
    changes: dict[str, Any] = {"left_mass_kg": max(left_kg, 0.0)}
    if left_kg < CRUMBS_KG:
        changes = {"left_mass_kg": 0.0, "state": "used"}
        difference = -package.left_mass_kg
    elif package.state in CLOSED:
        changes["state"] = "open"
    words = say("counted: {left}", left=mass_text(left_kg, "si"))
    with transaction.atomic():
        changed = records.change(package, changes, expected=expected, who=who, words=words)
        _moved(changed, "counted", mass_kg=difference, who=who, note=note)
    return changed


def mirror_undo(sender: Any, instance: Change, created: bool, **_options: Any) -> None:
    """Add the movement that makes up for a change of a package that was taken back, whoever took it back."""
    if not created or instance.kind != "pantry.package" or not instance.words.startswith("undone:"):
        return
    before, after = instance.before, instance.after
    package = Package.objects.get(pk=instance.object_id)
    options: dict[str, Any] = {"who": instance.who, "note": UNDONE}
    if before.get("place_id") != after.get("place_id"):
        _moved(package, "moved", place=package.place, **options)
    elif instance.action == "change":
        _moved(package, "counted", mass_kg=after["left_mass_kg"] - before["left_mass_kg"], **options)


def _moved(package: Package, kind: str, **values: Any) -> Movement:
    return Movement.objects.create(package=package, kind=kind, at=timezone.now(), **values)
