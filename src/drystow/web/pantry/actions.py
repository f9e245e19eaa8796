"""What can be done with a package: each changes its record and adds a movement, both or neither.

Each looks at the package under the lock of its row, and what is left is the sum of its movements (`books`), so that two
at the same moment count one after the other. Taking a change back adds a counted movement.
"""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from copy import copy
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.messages import msg
from drystow.reports.text import mass_text
from drystow.shown import quantity
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words
from drystow.web.pantry import books, dates
from drystow.web.pantry.models import Movement, Package, Place

UNDONE = msg("undone")
OPENED = msg("Opened. Keep it closed and dry, and use it soon.")


def packed(package: Package, *, who: str = "", note: str = "") -> Movement:
    """Record that a new package was closed."""
    return _moved(package, "packed", mass_kg=package.net_mass_kg, place=package.place, who=who, note=note)


def open_package(package: Package, *, expected: int | None, who: str = "") -> Package:
    """Record that a package was opened."""
    with _locked(package) as current:
        if current.state != "stored":
            raise InputError("state", _("this package is already {state}").format(state=current.get_state_display()))
        today = timezone.localdate()
        changes = {"state": "open", "opened_on": today} | dates.opened(current, today)
        changed = records.change(current, changes, expected=expected, who=who, words=OPENED)
        _moved(changed, "opened", who=who)
    return changed


def take(
    package: Package, kind: str, mass_kg: float, *, expected: int | None, who: str = "", to: str = "", note: str = ""
) -> Package:
    """Take food out of a package.

    kind: used, given or discarded
    mass_kg: how much; all that is left closes the package for good
    expected: version that the person saw, None to take it out of whatever is left now
    """
    if mass_kg <= 0:
        raise InputError(
            "mass",
            msg("nothing was taken; enter how much, for example {example}", example=quantity(0.05, "small mass")),
        )
    with _locked(package) as current:
        left_kg = books.left_in(current)
        if current.state in books.CLOSED:
            raise InputError("mass", _("nothing is left in this package; check that it is the right one"))
        if mass_kg > left_kg + books.CRUMBS_KG:
            told = _("only {left} is left; enter that or less, or count the shelf")
            raise InputError("mass", told.format(left=in_words(mass_text(left_kg, reader().units))))
        empty = left_kg - mass_kg < books.CRUMBS_KG
        taken = left_kg if empty else mass_kg
        changes: dict[str, Any] = {"left_mass_kg": left_kg - taken, "state": kind if empty else "open"}
        if current.opened_on is None and not (empty and kind in ("given", "discarded")):
            today = timezone.localdate()
            changes |= {"opened_on": today} | dates.opened(current, today)
        words = _taken(kind, _mass(taken), empty)
        changed = records.change(current, changes, expected=expected, who=who, words=words)
        _moved(changed, kind, mass_kg=taken, who=who, to=to, note=note)
    return changed


def move(package: Package, place: Place, *, expected: int | None, who: str = "") -> Package:
    """Put a package in another place."""
    with _locked(package) as current:
        if place.pk == current.place_id:
            raise InputError("place", _("it is already there; choose another place"))
        words = msg("Moved to {place}.", place=place.name)
        stays = [*_movements(current), Movement(package=current, kind="moved", at=timezone.now(), place=place)]
        there = copy(current)
        there.place = place
        changes = {"place": place} | dates.again(there, stays, timezone.localdate())
        changed = records.change(current, changes, expected=expected, who=who, words=words)
        _moved(changed, "moved", place=place, who=who)
    return changed


def reckon(package: Package, *, expected: int | None, who: str = "") -> Package:
    """Work out the date of a package again, by the temperatures that it has met."""
    with _locked(package) as current:
        changes = dates.again(current, _movements(current), timezone.localdate())
        words = msg("New date calculated. Print a new label for it.")
        return records.change(current, changes, expected=expected, who=who, words=words)


def _movements(package: Package) -> list[Movement]:
    return list(Movement.objects.filter(package=package).select_related("place"))


def count(package: Package, found_kg: float, *, expected: int | None, who: str = "", note: str = "") -> Package:
    """Write down what was found of a package: a difference becomes a counted movement, none leaves all as it is."""
    with _locked(package) as current:
        left_kg = books.left_in(current)
        if abs(found_kg - left_kg) < books.CRUMBS_KG:
            return current
        gone = found_kg < books.CRUMBS_KG
        changes: dict[str, Any] = {"left_mass_kg": 0.0 if gone else found_kg}
        if gone or current.state in books.CLOSED:
            changes["state"] = "used" if gone else "open"
        if changes.get("state") == "open" and current.opened_on is None:
            today = timezone.localdate()
            changes |= {"opened_on": today} | dates.opened(current, today)
        words = msg("Counted: {left}.", left=_mass(found_kg))
        changed = records.change(current, changes, expected=expected, who=who, words=words)
        _moved(changed, "counted", mass_kg=changes["left_mass_kg"] - left_kg, who=who, note=note)
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


@contextmanager
def _locked(package: Package) -> Iterator[Package]:
    """Within it, the package is as it stands now and nobody else writes to it; all of it holds, or nothing."""
    with transaction.atomic():
        yield records.locked(package)


def _taken(kind: str, mass: str, empty: bool) -> str:
    """Return that food was taken out and whether any is left."""
    done = {
        "used": msg("Used {mass}.", mass=mass),
        "given": msg("Gave away {mass}.", mass=mass),
        "discarded": msg("Threw out {mass}.", mass=mass),
    }[kind]
    if empty:
        return msg("{done} Nothing is left of this package.", done=done)
    return msg("{done} The rest stays in this package.", done=done)


def _mass(mass_kg: float) -> str:
    """Return a mass that stays in the history, for readers of any units."""
    return quantity(mass_kg, "mass" if mass_kg >= 1.0 else "small mass")


def _moved(package: Package, kind: str, **values: Any) -> Movement:
    return Movement.objects.create(package=package, kind=kind, at=timezone.now(), **values)


ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Letters and digits that nobody takes for one another: no 0 and O, no 1, I and L, no U beside V."""

LENGTH = 6
TRIES = 50


def new_code() -> str:
    """Return a random code."""
    return "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))


def create_package(package: Package, *, who: str, words: str) -> Package:
    """Save a new package under a code that no other has, also when somebody takes the same one at the same moment."""
    for _try in range(TRIES):
        package.code = new_code()
        try:
            with transaction.atomic():
                return records.create(package, who=who, words=words)
        except ValidationError as problem:
            if set(problem.message_dict) != {"code"}:
                raise
            package.pk = None
    raise RuntimeError(f"no free package code in {TRIES} tries; there are {len(ALPHABET) ** LENGTH} of them")
