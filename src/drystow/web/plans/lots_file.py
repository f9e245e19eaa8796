"""A plan as a plan file and a plan file as a plan (docs/plan-file.md)."""

import math
from collections.abc import Mapping
from datetime import datetime, time
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.errors import InputError
from drystow.fields import toml_table, toml_text
from drystow.foods.like import written_like
from drystow.messages import msg
from drystow.planning.schedule.arrivals import ArrivingLot, Lots, PlannedDryer
from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.schedule.plan_file import PAGE, VOLUME, arrivals_of, parse_lots
from drystow.units import celsius, parse
from drystow.web.dryers.models import Dryer
from drystow.web.foods.own_entry import own_food
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.lots_table import lots_table
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.request import dryers_of, lots_of

WORDS = msg("plan file")
EXTRA = ("faces", "final_moisture", "start_temperature", "volume")
"""Fields of a lot that no form asks for; the lot keeps them as they are written."""


def plan_text(plan: Plan) -> str:
    """Return a plan as the text of a plan file, ready for ``drystow plan``."""
    dryers, lots = dryers_of(plan), lots_of(plan)
    foods = foods_of(lot.food for lot in lots)
    kitchen = records.kitchen()
    zone = kitchen_zone(kitchen.time_zone)
    return toml_text(lots_table(plan, dryers, lots, foods, kitchen=kitchen, zone=zone))


def plan_from_text(text: str, who: str = "") -> tuple[Plan, tuple[str, ...]]:
    """Make a plan of the text of a plan file, and tell what to know of how the file is written.

    Raises `InputErrors` with all that is wrong; then nothing is made.

    text: of a TOML plan file
    who: makes it
    """
    raw = toml_table(text, PAGE)
    read = parse_lots(raw)
    if read.fixed:
        words = msg("a plan here takes its running batches from your kitchen; take [[fixed]] out of the file")
        raise InputError("fixed", words)
    with transaction.atomic(), records.one_action():
        plan = records.create(_plan(read, raw), who=who, words=WORDS)
        used: dict[str, Dryer] = {}
        for machine, written in zip(read.dryers, raw["dryer"], strict=True):
            used[machine.name] = _dryer(machine, written, list(used.values()), who)
            records.create(_plan_dryer(plan, used[machine.name], machine, written), who=who, words=WORDS)
        for lot, row in zip(read.lots, arrivals_of(raw), strict=True):
            records.create(_lot(plan, lot, row, used, who), who=who, words=WORDS)
    return plan, read.notes


def _plan(read: Lots, raw: Mapping[str, Any]) -> Plan:
    extra = {"step": raw["step"]} if "step" in raw else {}
    if read.begin.time() != time():
        extra["begin_time"] = read.begin.time().isoformat()
    return Plan(
        title=read.title[:120],
        begin=read.begin.date(),
        days=read.days,
        home=raw.get("home", {}),
        tariff=raw.get("tariff", {}) or {"price": 0.0},
        freezer_m3=_freezer(read),
        apart=[rule for rule in read.rules if rule != "germs"],
        extra=extra,
    )


def _freezer(read: Lots) -> float:
    """Return the freezer space [m3]; a mass takes what its food takes."""
    if not read.freezer_by_mass:
        return read.freezer
    if any(lot.volume != VOLUME for lot in read.lots):
        words = msg("write it as a volume, such as '60 L', because arrivals have their own volume")
        raise InputError("freezer.space", words)
    return read.freezer * VOLUME


def _dryer(machine: PlannedDryer, written: Mapping[str, Any], used: list[Dryer], who: str) -> Dryer:
    """Return the dryer of the kitchen that is this machine, by name or else by its numbers; a new one without any."""
    profile, numbers = machine.frame.profile, dict(written.get("numbers", {}))
    taken = {row.pk for row in used}
    same = [
        row
        for row in Dryer.objects.kept().filter(profile=profile).order_by("pk")
        if row.numbers == numbers and row.pk not in taken
    ]
    if same:
        return next((row for row in same if row.name == machine.name), same[0])
    name, count = machine.name[:70], 1
    while Dryer.objects.filter(name=name).exists():
        count += 1
        name = f"{machine.name[:70]} ({count})"
    return records.create(Dryer(name=name, profile=profile, numbers=numbers), who=who, words=WORDS)


def _plan_dryer(plan: Plan, dryer: Dryer, machine: PlannedDryer, written: Mapping[str, Any]) -> PlanDryer:
    steps = [
        {
            "shelf_c": round(celsius(step.shelf), 3),
            "hours": round(step.duration / 3600.0, 4) if math.isfinite(step.duration) else None,
        }
        for step in machine.frame.program
    ]
    return PlanDryer(
        plan=plan,
        dryer=dryer,
        program=steps,
        turnaround_h=round(machine.turnaround / 3600.0, 4),
        stops=[{"from": begin.isoformat(), "to": end.isoformat()} for begin, end in machine.service],
        extra={key: value for key, value in written.get("program", {}).items() if key != "shelf"},
    )


def _lot(plan: Plan, lot: ArrivingLot, raw: Mapping[str, Any], used: Mapping[str, Dryer], who: str) -> Lot:
    item = lot.item
    extra = {name: raw[name] for name in EXTRA if name in raw}
    if {"like", "class"} & raw.keys() and not item.food.own:
        extra["like"] = written_like(item.food.food_class, item.food.like)
    if "dryers" in raw:
        extra["dryers"] = [used[name.strip()].pk for name in raw["dryers"]]
    return Lot(
        plan=plan,
        name=lot.name[:120],
        food=f"own:{own_food(item.food, who).pk}" if item.food.own else item.food.id,
        mass_kg=lot.mass,
        arrives=_aware(lot.arrival),
        shape=item.shape,
        size_m=item.size,
        tray_kg=_written(raw, "tray_mass", "mass"),
        value_per_kg=lot.value,
        frozen=lot.frozen,
        must=lot.must,
        ready_by=_aware(lot.ready_by) if lot.ready_by is not None else None,
        fridge_days=_written(raw, "fridge", "time", DAY),
        freezer_days=_written(raw, "freezer", "time", DAY),
        drying_h=_written(raw, "drying_time", "time", 3600.0),
        extra=extra,
    )


def _written(raw: Mapping[str, Any], key: str, kind: str, unit: float = 1.0) -> float | None:
    return parse(raw[key], kind, key) / unit if key in raw else None


def _aware(at: datetime) -> datetime:
    return timezone.make_aware(at, kitchen_zone(records.kitchen().time_zone))
