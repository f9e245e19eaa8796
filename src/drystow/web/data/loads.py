"""A batch as a load file and a load file as a batch."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from drystow.errors import InputError
from drystow.fields import Problems, toml_table, toml_text
from drystow.machine.item import TrayItem
from drystow.machine.load import Load, LoadSpec, TraySpec
from drystow.machine.loadfile import CUT_KEYS, PAGE, PARTS, load_spec, load_table
from drystow.machine.loading import DEFAULT_PROFILE, load_of
from drystow.messages import msg
from drystow.units import celsius
from drystow.web.batches.adapters import alike_dryers, cut_columns, extra_of, load_spec_of, new_dryer, steps_of
from drystow.web.batches.forms import next_lot
from drystow.web.batches.models import Batch, Item
from drystow.web.batches.models import Load as TrayLoad
from drystow.web.foods.own_entry import WORDS, own_food
from drystow.web.foods.spec import like_of
from drystow.web.kit import records


def load_text(batch: Batch) -> str:
    """Return a batch as the text of a load file, ready for ``drystow simulate``."""
    return toml_text(load_table(load_spec_of(batch)))


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
    problems = Problems()
    spec = load_spec(raw, problems)
    load = load_of(spec, problems)
    if load.rig.held:
        words = msg("a batch runs in one of your dryers; leave out pressure_mode = 'held' and its fields")
        raise InputError("dryer.pressure_mode", words)
    with transaction.atomic():
        same = alike_dryers(spec.rig)
        dryer = same[0] if same else new_dryer(spec.rig, f"Dryer {spec.rig.profile or DEFAULT_PROFILE}", who, WORDS)
        batch = records.create(
            Batch(
                lot=next_lot(),
                title=load.title[:120],
                dryer=dryer,
                stage="program",
                program=steps_of(spec.rig.shelf),
                freezer=spec.rig.freeze,
                extra={name: value for name, value in extra_of(spec.rig).items() if name != "freeze"},
            ),
            who=who,
            words=WORDS,
        )
        _trays(batch, load, spec, who)
    return batch, _told(batch)


def _trays(batch: Batch, load: Load, spec: LoadSpec, who: str) -> None:
    items: dict[str, Item] = {}
    shares: dict[str, list[tuple[int, float]]] = {}
    for item, asked in zip(load.items, spec.trays, strict=True):
        # with what is usual of a food worked out, so that foods written in two ways are one
        alike = replace(asked, mass=0.0, wrapper_mass=None, tray=None, start_temperature=item.start_temperature)
        key = repr((alike, item.target))
        if key not in items:
            items[key] = _item(batch, item, alike, who)
            shares[key] = []
        shares[key].append((item.tray, item.mass))
        if item.wrapper_mass:
            items[key].wrapper_kg = (items[key].wrapper_kg or 0.0) + item.wrapper_mass
    for key, row in items.items():
        row.mass_kg = sum(mass for _tray, mass in shares[key])
        records.create(row, who=who, words=WORDS)
        for number, mass in shares[key]:
            records.create(TrayLoad(item=row, tray=number, mass_kg=mass), who=who, words=WORDS)


def _item(batch: Batch, item: TrayItem, asked: TraySpec, who: str) -> Item:
    parts = {part: asdict(getattr(asked, part)) for part in PARTS}
    extra: dict[str, Any] = {
        part: {name: value for name, value in values.items() if value is not None} for part, values in parts.items()
    }
    extra |= {"ice_mass": asked.ice_mass, "area": asked.area, **like_of(asked.food)}
    return Item(
        batch=batch,
        food=f"own:{own_food(asked.food, who).pk}" if asked.food.own else asked.food.id,
        name=(asked.name or asked.food.name)[:200],
        shape=asked.shape,
        size_m=asked.size,
        **cut_columns({name: getattr(asked, name) for name in CUT_KEYS}),
        frozen=item.frozen,
        start_c=round(celsius(item.start_temperature), 3),
        target_moisture=asked.final_moisture,
        skin_state=asked.skin_state or "",
        extra={name: value for name, value in extra.items() if value not in (None, {})},
    )


def _told(batch: Batch) -> tuple[str, ...]:
    """Return a sentence when the load file set something that no form shows."""
    names = [*batch.extra, *(name for item in batch.items.all() for name in item.extra)]
    if not names:
        return ()
    words = _("The load file set more than the forms ask for ({names}); see the trays page.")
    return (words.format(names=", ".join(dict.fromkeys(names))),)
