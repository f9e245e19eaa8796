"""A load that was found, laid on the trays of its batch: as a picture, and written down."""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from django.db import transaction

from drystow.foods.model import Food
from drystow.messages import msg
from drystow.web.batches.adapters import dryer_of
from drystow.web.batches.arrange import lay_out
from drystow.web.batches.extra import FOR_ITS_AMOUNT
from drystow.web.batches.models import Batch, Item, Load
from drystow.web.batches.traypicture import Look, TrayView, tray_views
from drystow.web.kit import records
from drystow.web.plans.found import FoundLoad, Part

SAME_SIZE = 1e-6  # cuts that are as near as this are the same [m]
SAME_MASS = 5e-4  # amounts as well [kg]


@dataclass(frozen=True)
class FoodShown:
    """What to do with a food.

    item: in the basket
    look: how it is drawn
    size: how thick it is to be cut [m]
    cut_anew: it is cut otherwise than the basket says
    mass: that goes in, 0 when none does [kg]
    trays: their numbers
    too_warm: its ice gets warmer than its limit with the program of the batch
    left: that stays in the basket [kg]
    why: it stays
    """

    item: Item
    look: Look
    size: float
    cut_anew: bool
    mass: float
    trays: tuple[int, ...]
    too_warm: bool
    left: float
    why: str


def laid(items: Sequence[Item], found: FoundLoad) -> list[Load]:
    """Return what would lie on the trays, as rows that are not saved, their foods cut as they would be."""
    by_pk = {item.pk: item for item in items}
    cut: dict[int, Item] = {}
    rows = []
    for part in found.parts:
        if part.item in by_pk:  # else it is out of the basket since
            item = cut.setdefault(part.item, _cut(by_pk[part.item], part))
            rows.append(Load(item=item, tray=part.tray, mass_kg=part.mass))
    return rows


def lies_there(batch_loads: Sequence[Load], items: Sequence[Item], found: FoundLoad) -> bool:
    """Return whether the trays hold just what was found.

    batch_loads: from `tray_loads`
    """
    there = {(row.item_id, row.tray): row for row in batch_loads}
    wanted = {(row.item_id, row.tray): row for row in laid(items, found)}
    return there.keys() == wanted.keys() and all(
        abs(row.mass_kg - wanted[key].mass_kg) < SAME_MASS
        and abs(row.item.size_m - wanted[key].item.size_m) < SAME_SIZE
        for key, row in there.items()
    )


def views_of(
    batch: Batch, items: Sequence[Item], foods: Mapping[str, Food], looks: Mapping[int, Look], found: FoundLoad
) -> list[TrayView]:
    """Return the trays to scale, each ready when 8 of 10 runs are."""
    ready = {(part.tray, part.item): part.sure for part in found.parts}
    views = tray_views(laid(items, found), foods, looks, dryer_of(batch.dryer), None)
    return [
        replace(
            view,
            parts=tuple(
                replace(part, ready_s=ready[view.number, part.load.item_id]) for part in view.parts
            ),
        )
        for view in views
    ]  # fmt: skip


def foods_view(items: Sequence[Item], looks: Mapping[int, Look], found: FoundLoad) -> list[FoodShown]:
    """Return what to do with each food of the basket."""
    left = {one.item: one for one in found.left}
    shown = []
    for item in items:
        parts = [part for part in found.parts if part.item == item.pk]
        rest = left.get(item.pk)
        size = parts[0].size if parts else item.size_m
        shown.append(
            FoodShown(
                item=item,
                look=looks[item.pk],
                size=size,
                cut_anew=abs(size - item.size_m) >= SAME_SIZE,
                mass=sum(part.mass for part in parts),
                trays=tuple(part.tray for part in parts),
                too_warm=any(part.too_warm for part in parts),
                left=rest.mass if rest else 0.0,
                why=rest.words if rest else "",
            )
        )
    return shown


USED = msg("The load is on the trays.")


def use_load(items: Sequence[Item], found: FoundLoad, *, who: str) -> Item | Load | None:
    """Write cut and trays into the batch, in one go, and return one of the changed rows, None when none changed.

    items: as they were read; raises `Conflict` when somebody changed one since
    """
    words, last = USED, None
    with transaction.atomic(), records.one_action():
        wanted = {(row.item_id, row.tray): row for row in laid(items, found)}
        cut = {item_pk: row.item for (item_pk, _tray), row in wanted.items()}
        for item in items:
            new = cut.get(item.pk, item)
            changes = {"size_m": new.size_m, "extra": new.extra}
            written = records.change(item, changes, expected=item.version, who=who, words=words)
            last = written if written.version != item.version else last
        masses = {key: row.mass_kg for key, row in wanted.items()}
        return lay_out(items, masses, who=who, words=words) or last


def _cut(item: Item, part: Part) -> Item:
    """Return a food cut as it was found, without what held for its amount before."""
    new = copy.copy(item)
    if abs(part.size - item.size_m) >= SAME_SIZE:
        new.size_m = round(part.size, 6)
    new.extra = {name: value for name, value in item.extra.items() if name not in FOR_ITS_AMOUNT}
    if part.area is not None:
        new.extra["area"] = round(part.area, 6)
    return new
