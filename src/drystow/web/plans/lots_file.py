"""A plan as a plan file and a plan file as a plan (docs/plan-file.md)."""

from collections.abc import Mapping
from datetime import datetime, time
from typing import Any

from django.db import transaction
from django.utils import timezone

from drystow.errors import InputError
from drystow.fields import toml_table, toml_text
from drystow.machine.load import TraySpec
from drystow.machine.loadfile import CUT_KEYS
from drystow.messages import msg
from drystow.planning.schedule.arrivals import VOLUME, ArrivalSpec, DryerSpec, PlanSpec
from drystow.planning.schedule.plan_file import PAGE, parse_plan, plan_table
from drystow.ranges import DAY, HOUR
from drystow.web.batches.adapters import alike_dryers, extra_of, new_dryer, steps_of
from drystow.web.dryers.models import Dryer
from drystow.web.foods.own_entry import own_food
from drystow.web.foods.spec import foods_of, like_of
from drystow.web.kit import records
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.models import Lot, Plan, PlanDryer
from drystow.web.plans.request import dryers_of, lots_of
from drystow.web.plans.spec import plan_spec_of

WORDS = msg("plan file")


def plan_text(plan: Plan) -> str:
    """Return a plan as the text of a plan file, ready for ``drystow plan``."""
    dryers, lots = dryers_of(plan), lots_of(plan)
    foods = foods_of(lot.food for lot in lots)
    kitchen = records.kitchen()
    zone = kitchen_zone(kitchen.time_zone)
    return toml_text(plan_table(plan_spec_of(plan, dryers, lots, foods, kitchen=kitchen, zone=zone)))


def plan_from_text(text: str, who: str = "") -> tuple[Plan, tuple[str, ...]]:
    """Make a plan of the text of a plan file, and tell what to know of how the file is written.

    Raises `InputErrors` with all that is wrong; then nothing is made.

    text: of a TOML plan file
    who: makes it
    """
    spec, lots = parse_plan(toml_table(text, PAGE))
    if lots.fixed:
        words = msg("a plan here takes its running batches from your kitchen; take [[fixed]] out of the file")
        raise InputError("fixed", words)
    with transaction.atomic(), records.one_action():
        plan = records.create(_plan(spec), who=who, words=WORDS)
        used: dict[str, Dryer] = {}
        for dryer in spec.dryers:
            used[dryer.name] = _dryer(dryer, list(used.values()), who)
            records.create(_plan_dryer(plan, used[dryer.name], dryer), who=who, words=WORDS)
        for lot in spec.arrivals:
            records.create(_lot(plan, lot, used, who), who=who, words=WORDS)
    return plan, lots.notes


def _plan(spec: PlanSpec) -> Plan:
    extra: dict[str, Any] = {} if spec.step is None else {"step": spec.step}
    if spec.begin.time() != time():
        extra["begin_time"] = spec.begin.time().isoformat()
    return Plan(
        title=spec.title[:120],
        begin=spec.begin.date(),
        days=spec.days,
        home=spec.home,
        tariff=spec.tariff or {"price": 0.0},
        freezer_m3=_freezer(spec),
        apart=[rule for rule in spec.rules if rule != "germs"],
        extra=extra,
    )


def _freezer(spec: PlanSpec) -> float:
    """Return the freezer space [m3]; a mass takes what its food takes."""
    if not spec.freezer_by_mass:
        return spec.freezer
    if any(lot.volume != VOLUME for lot in spec.arrivals):
        words = msg("write it as a volume, such as '60 L', because arrivals have their own volume")
        raise InputError("freezer.space", words)
    return spec.freezer * VOLUME


def _dryer(spec: DryerSpec, used: list[Dryer], who: str) -> Dryer:
    """Return the dryer of the kitchen that is this machine, by name or else by its numbers; a new one without any."""
    taken = {row.pk for row in used}
    same = [row for row in alike_dryers(spec.rig) if row.pk not in taken]
    if same:
        return next((row for row in same if row.name == spec.name), same[0])
    return new_dryer(spec.rig, spec.name[:70], who, WORDS)


def _plan_dryer(plan: Plan, dryer: Dryer, spec: DryerSpec) -> PlanDryer:
    return PlanDryer(
        plan=plan,
        dryer=dryer,
        program=steps_of(spec.rig.shelf),
        turnaround_h=round(spec.turnaround / 3600.0, 4),
        stops=[{"from": begin.isoformat(), "to": end.isoformat()} for begin, end in spec.service],
        extra=extra_of(spec.rig),
    )


def _lot(plan: Plan, lot: ArrivalSpec, used: Mapping[str, Dryer], who: str) -> Lot:
    tray = lot.tray
    usual = {name: getattr(TraySpec, name) for name in CUT_KEYS}
    extra: dict[str, Any] = {name: getattr(tray, name) for name in CUT_KEYS if getattr(tray, name) != usual[name]}
    extra |= like_of(tray.food)
    values = {name: getattr(tray, name) for name in ("final_moisture", "start_temperature", "skin_state")}
    extra |= {name: value for name, value in values.items() if value is not None}
    extra |= {"volume": 1e3 * lot.volume} if lot.volume != VOLUME else {}
    extra |= {"dryers": [used[name].pk for name in lot.dryers]} if lot.dryers else {}
    return Lot(
        plan=plan,
        name=lot.name[:120],
        food=f"own:{own_food(tray.food, who).pk}" if tray.food.own else tray.food.id,
        mass_kg=lot.mass,
        arrives=_aware(lot.arrives),
        shape=tray.shape,
        size_m=tray.size,
        tray_kg=lot.tray_mass,
        value_per_kg=lot.value,
        frozen=lot.frozen,
        must=lot.must,
        ready_by=_aware(lot.needed_by) if lot.needed_by is not None else None,
        fridge_days=None if lot.fridge is None else lot.fridge / DAY,
        freezer_days=None if lot.freezer is None else lot.freezer / DAY,
        drying_h=None if lot.drying_time is None else lot.drying_time / HOUR,
        extra=extra,
    )


def _aware(at: datetime) -> datetime:
    return timezone.make_aware(at, kitchen_zone(records.kitchen().time_zone))
