"""What a load file set beyond the forms, in words; and taking it back."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.batches.models import Batch, Item
from drystow.web.kit import records
from drystow.web.kit.kept_values import Teller
from drystow.web.kit.reader import reader

FOR_ITS_AMOUNT = ("ice_mass", "areas", "area")
"""Fields that hold for one amount of food on one tray only."""


@dataclass(frozen=True)
class Extra:
    """One thing that a load file set.

    name: of its field
    item: food that it belongs to, None for the whole batch
    words: what it is
    value: in the reader's units
    for_its_amount: holds only for the amount in the file
    """

    name: str
    item: Item | None
    words: str
    value: str
    for_its_amount: bool


def extras_of(batch: Batch, items: Sequence[Item]) -> list[Extra]:
    """Return what is set, but not that the trap may fill up: the forecast says that."""
    found = [_extra(name, None, value) for name, value in batch.extra.items() if name != "overload"]
    return found + [_extra(name, item, value) for item in items for name, value in item.extra.items()]


def take_back(batch: Batch, items: Iterable[Item], name: str, item: str, who: str) -> Batch | Item | None:
    """Take back one thing and return the record as changed, None when it is not set any more.

    name: of the field
    item: number of the food, empty for the whole batch
    """
    owner: Batch | Item | None = batch if not item else next((one for one in items if str(one.pk) == item), None)
    if owner is None or name not in owner.extra:
        return None
    left = {key: value for key, value in owner.extra.items() if key != name}
    words = msg("no longer as in the load file: {name}", name=name)
    return records.change(owner, {"extra": left}, expected=owner.version, who=who, words=words)


def let_trap_fill(batch: Batch, who: str) -> Batch:
    """Accept that the trap fills up before the food is dry."""
    extra = batch.extra | {"overload": True}
    words = msg("a defrost stop is planned")
    return records.change(batch, {"extra": extra}, expected=batch.version, who=who, words=words)


def _extra(name: str, item: Item | None, value: Any) -> Extra:
    names = {
        "freeze_to": _("Freeze until the core is at"),
        "ice_mass": _("Ice when drying starts"),
        "dried_layer": _("Dried layer"),
        "heat": _("Heat transfer"),
        "areas": _("Surface of the pieces"),
        "area": _("Part of the tray it covers"),
        "like": _("Dries like"),
    }
    text = Teller(reader().units, {}).part(name, value)
    bound = name in FOR_ITS_AMOUNT or (isinstance(value, dict) and "ice_mass" in value)
    return Extra(name, item, names.get(name, name), text, bound)
