"""A batch as a load file and a load file as a batch."""

import math
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.fields import toml_table, toml_text
from drystow.foods.like import written_like
from drystow.machine.item import TrayItem
from drystow.machine.load import Load
from drystow.machine.loadfile import DEFAULT_PROFILE, PAGE, RUN_KEYS, parse_load
from drystow.messages import msg
from drystow.units import celsius, si_of
from drystow.web.batches.adapters import load_table
from drystow.web.batches.forms import next_lot
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.dryers.models import Dryer
from drystow.web.foods.own_entry import WORDS, own_food
from drystow.web.kit import records

EXTRA = ("ice_mass", "dried_layer", "heat", "areas")
"""Fields of a tray that no form asks for; the item keeps them as they are written."""
EXTRA_PROGRAM = ("freeze_to", "overload")
SAME_AREA = 1e-3  # share of a tray


def load_text(batch: Batch) -> str:
    """Return a batch as the text of a load file, ready for ``drystow simulate``."""
    return toml_text(load_table(batch))


def batch_from_text(text: str, who: str = "") -> tuple[Batch, tuple[str, ...]]:
    """Make a batch of the text of a load file; return it and sentences on what the file set beyond the forms.

    text: of a TOML load file
    who: makes it
    """
    return batch_from_table(toml_table(text, PAGE), who)


def batch_from_table(raw: Mapping[str, Any], who: str = "") -> tuple[Batch, tuple[str, ...]]:
    """Make a batch of a load table; raises `InputErrors` with all that is wrong with it, and then nothing is made.

    raw: the table as read from TOML or JSON
    who: makes it
    """
    load = parse_load(raw)
    if load.pressure is not None:
        words = msg("a batch runs in one of your dryers; leave out pressure_mode = 'held' and its fields")
        raise InputError("dryer.pressure_mode", words)
    with transaction.atomic():
        dryer = _dryer(raw.get("dryer", {}), who)
        steps = [{"shelf_c": round(celsius(step.shelf), 3), "hours": _hours(step.duration)} for step in load.program]
        batch = records.create(
            Batch(
                lot=next_lot(),
                title=load.title[:120],
                dryer=dryer,
                stage="program",
                program=steps,
                freezer=load.freezer,
                extra={name: value for name in EXTRA_PROGRAM if (value := raw.get("program", {}).get(name))},
            ),
            who=who,
            words=WORDS,
        )
        _trays(batch, load, raw["tray"], who)
    return batch, _told(batch)


def _hours(seconds: float) -> float | None:
    return round(seconds / 3600.0, 4) if math.isfinite(seconds) else None


def _dryer(raw: Mapping[str, Any], who: str) -> Dryer:
    """Return the dryer of the kitchen that has these numbers, a new one when none has."""
    profile = str(raw.get("profile", DEFAULT_PROFILE))
    numbers = {name: value for name, value in raw.items() if name not in RUN_KEYS and name != "words"}
    for dryer in Dryer.objects.kept().filter(profile=profile).order_by("pk"):
        if dryer.numbers == numbers:
            return dryer
    name, count = f"Dryer {profile}", 1
    while Dryer.objects.filter(name=name).exists():
        count += 1
        name = f"Dryer {profile} ({count})"
    return records.create(Dryer(name=name, profile=profile, numbers=numbers), who=who, words=WORDS)


def _trays(batch: Batch, load: Load, written: list[Mapping[str, Any]], who: str) -> None:
    places = _places(load, written)
    items: dict[str, Item] = {}
    shares: dict[str, list[tuple[int, float]]] = {}
    for item, raw, (tray, area) in zip(load.items, written, places, strict=True):
        extra = _extra(item, raw, area)
        key = repr(
            ((item.food, item.shape, item.size, item.faces, item.frozen, item.start_temperature, item.target), extra)
        )
        if key not in items:
            target = item.target if "final_moisture" in raw else None
            items[key] = _item(batch, item, str(raw.get("name") or item.food.name)[:200], target, who)
            items[key].extra = extra
            shares[key] = []
        shares[key].append((tray, item.mass))
    for key, row in items.items():
        row.mass_kg = sum(mass for _tray, mass in shares[key])
        records.create(row, who=who, words=WORDS)
        for number, mass in shares[key]:
            records.create(TrayLoad(item=row, tray=number, mass_kg=mass), who=who, words=WORDS)


def _places(load: Load, written: list[Mapping[str, Any]]) -> list[tuple[int, float | None]]:
    """Return on which tray each food lies, and its area where the batch would not share the tray out like that [m2]."""
    whole = load.dryer.tray_area
    areas = [si_of(raw["area"], "area", "area") if "area" in raw else whole for raw in written]
    found = [(item.tray, area) for item, area in zip(load.items, areas, strict=True)]
    together: defaultdict[int, float] = defaultdict(float)
    for item, (number, _area) in zip(load.items, found, strict=True):
        together[number] += item.mass
    return [
        (number, None if abs(area - whole * item.mass / together[number]) <= SAME_AREA * whole else area)
        for item, (number, area) in zip(load.items, found, strict=True)
    ]


def _extra(item: TrayItem, raw: Mapping[str, Any], area: float | None) -> dict[str, Any]:
    extra = {name: raw[name] for name in EXTRA if raw.get(name)}
    if {"like", "class"} & raw.keys() and not item.food.own:
        extra["like"] = written_like(item.food.food_class, item.food.like)
    if area is not None:
        extra["area"] = area
    return extra


def _item(batch: Batch, item: TrayItem, name: str, target: float | None, who: str) -> Item:
    return Item(
        batch=batch,
        food=f"own:{own_food(item.food, who).pk}" if item.food.own else item.food.id,
        name=name,
        shape=item.shape,
        size_m=item.size,
        faces=item.faces,
        frozen=item.frozen,
        start_c=round(celsius(item.start_temperature), 3),
        target_moisture=target,
    )


def _told(batch: Batch) -> tuple[str, ...]:
    """Return a sentence when the load file set something that no form shows."""
    names = [*batch.extra, *(name for item in batch.items.all() for name in item.extra)]
    if not names:
        return ()
    words = _("The load file set more than the forms ask for ({names}); see the trays page.")
    return (words.format(names=", ".join(dict.fromkeys(names))),)
