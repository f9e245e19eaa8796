"""Moving food from one tray to another, all of it or a part, and laying all trays anew; in one go or not at all."""

from collections.abc import Iterable, Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from drystow.messages import msg
from drystow.web.batches.models import Item, Load
from drystow.web.kit import records

LEAST = 5e-4  # less than half a gram is not left over [kg]


def move_food(load: Load, tray: int, mass: float | None, *, expected: int, who: str) -> tuple[Load | None, str]:
    """Move food and return the row to undo it by, None where two rows changed; or why it cannot be moved.

    load: where it lies
    tray: where it goes
    mass: how much, None for all of it [kg]
    expected: version of the load that the person saw
    """
    if tray == load.tray:
        return None, _("{food} is already on tray {tray}.").format(food=load.item.name, tray=tray)
    amount = load.mass_kg if mass is None else mass
    if amount > load.mass_kg + LEAST:
        return None, _("There is less {food} than that on tray {tray}. Enter less, or leave it blank for "
                       "all of it.").format(food=load.item.name, tray=load.tray,
        )  # fmt: skip
    words = msg("{food}: tray {here} to tray {there}", food=load.item.name, here=load.tray, there=tray)
    there = Load.objects.kept().filter(item=load.item, tray=tray).first()
    rest = load.mass_kg - amount
    if rest < LEAST and there is None:
        return records.change(load, {"tray": tray}, expected=expected, who=who, words=words), ""
    with transaction.atomic(), records.together():
        if rest < LEAST:
            records.put_in_bin(load, who=who, words=words)
        else:
            records.change(load, {"mass_kg": rest}, expected=expected, who=who, words=words)
        if there is None:
            records.create(Load(item=load.item, tray=tray, mass_kg=amount), who=who, words=words)
        else:
            sum_there = {"mass_kg": there.mass_kg + amount}
            records.change(there, sum_there, expected=there.version, who=who, words=words)
    return None, ""


def lay_out(items: Iterable[Item], wanted: Mapping[tuple[int, int], float], *, who: str, words: str) -> Load | None:
    """Put food on the trays as wanted and nothing else; return one of the changed rows, None when nothing changed.

    items: foods whose trays are filled anew
    wanted: number of the food and tray -> mass [kg]
    """
    last, by_pk, missing = None, {item.pk: item for item in items}, dict(wanted)
    for row in Load.objects.kept().filter(item__in=by_pk):
        mass = missing.pop((row.item_id, row.tray), None)
        if mass is None:
            last = records.put_in_bin(row, who=who, words=words)
            continue
        written = records.change(row, {"mass_kg": mass}, expected=row.version, who=who, words=words)
        last = written if written.version != row.version else last
    for (pk, tray), mass in missing.items():
        last = records.create(Load(item=by_pk[pk], tray=tray, mass_kg=mass), who=who, words=words)
    return last
