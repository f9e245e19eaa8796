"""From the rows of a plan to what the engine is asked for, and what it refuses of a row before it is kept."""

from collections.abc import Mapping, Sequence
from datetime import datetime, time, tzinfo

from drystow.errors import InputError, InputErrors
from drystow.fields import Problems
from drystow.foods.model import Food
from drystow.machine.load import TraySpec
from drystow.machine.loadfile import CUT_KEYS
from drystow.machine.loading import rig_of
from drystow.machine.sampling import UNCALIBRATED, Calibration
from drystow.messages import msg
from drystow.planning.load.basket import WHOLE
from drystow.planning.schedule.arrivals import VOLUME, ArrivalSpec, DryerSpec, PlanSpec, lots_of
from drystow.ranges import DAY, HOUR
from drystow.web.batches.adapters import rig_spec_of
from drystow.web.foods.spec import alike
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.models import Crop, Lot, Plan, PlanDryer

FIELDS = {"tray_mass": "tray", "drying_time": "drying", "needed_by": "ready_by"}
"""Field of a plan file -> of the form, where they differ."""


def plan_spec_of(
    plan: Plan,
    dryers: Sequence[PlanDryer],
    lots: Sequence[Lot],
    foods: Mapping[str, Food],
    *,
    kitchen: Kitchen,
    zone: tzinfo,
    known: Sequence[Calibration] = (),
) -> PlanSpec:
    """Return a plan as the engine is asked for it; `InputError` when a lot may go into no dryer.

    Dryers and food stand in the order given, so that the place of one tells which record it is; lots with one name are
    numbered (`lot_names`).

    plan: with hours, tariff, freezer and rules
    dryers: of the plan, each with its dryer
    lots: of the plan
    foods: by reference, those of the lots, from `foods_of`
    kitchen: its altitude, and its price of a kilowatt-hour where the plan has no tariff of its own
    zone: clock of the kitchen
    known: what each dryer has learned
    """
    names = {row.dryer_id: row.dryer.name for row in dryers}
    taught = known or [UNCALIBRATED] * len(dryers)
    return PlanSpec(
        begin=datetime.combine(plan.begin, time.fromisoformat(plan.extra.get("begin_time", "00:00"))),
        dryers=tuple(dryer_spec_of(row, learned) for row, learned in zip(dryers, taught, strict=True)),
        arrivals=tuple(
            _arrival(row, name, foods[row.food], names, zone) for name, row in zip(lot_names(lots), lots, strict=True)
        ),
        title=plan.title,
        days=plan.days,
        step=plan.extra.get("step"),
        altitude=kitchen.altitude_m,
        home=plan.home,
        tariff=plan.tariff or {"price": kitchen.tariff_per_kwh},
        freezer=plan.freezer_m3,
        rules=rules_of(plan.apart),
    )


def rules_of(apart: Sequence[str]) -> tuple[str, ...]:
    """Return the separation rules of a plan or a season, that of germs first.

    apart: as a row keeps them
    """
    return ("germs", *(rule for rule in apart if rule != "germs"))


def lot_names(lots: Sequence[Lot | Crop]) -> list[str]:
    """Return what the lots are called in a plan, each its own.

    lots: in their order
    """
    names: list[str] = []
    for lot in lots:
        name, count = lot.name, 1
        while name in names:
            count += 1
            name = f"{lot.name} ({count})"
        names.append(name)
    return names


def dryer_spec_of(row: PlanDryer, known: Calibration = UNCALIBRATED) -> DryerSpec:
    """Return a dryer of a plan as the engine is asked for it.

    row: with its dryer
    known: what the dryer has learned
    """
    return DryerSpec(
        name=row.dryer.name,
        rig=rig_spec_of(row.dryer, row.program, row.extra),
        turnaround=HOUR * row.turnaround_h,
        service=tuple((datetime.fromisoformat(stop["from"]), datetime.fromisoformat(stop["to"])) for stop in row.stops),
        known=known,
    )


def _arrival(row: Lot, name: str, food: Food, dryers: Mapping[int, str], zone: tzinfo) -> ArrivalSpec:
    wished, extra = row.extra.get("dryers"), row.extra
    allowed = tuple(dryers[number] for number in wished or () if number in dryers)
    if wished and not allowed:
        words = msg(
            "{lot} may only go in a dryer that is not part of the plan; change the food or the dryers", lot=row.name
        )
        raise InputError("dryers", words)
    tray = TraySpec(
        food=alike(food, extra.get("like")),
        mass=WHOLE,
        size=row.size_m,
        shape=row.shape,
        **{name: extra[name] for name in CUT_KEYS if name in extra},
        start_temperature=extra.get("start_temperature"),
        final_moisture=extra.get("final_moisture"),
        skin_state=extra.get("skin_state"),
    )
    return ArrivalSpec(
        name=name,
        tray=tray,
        mass=row.mass_kg,
        arrives=_moment(row.arrives, zone),
        tray_mass=row.tray_kg,
        value=row.value_per_kg,
        frozen=row.frozen,
        fridge=None if row.fridge_days is None else DAY * row.fridge_days,
        freezer=None if row.freezer_days is None else DAY * row.freezer_days,
        must=row.must,
        needed_by=None if row.ready_by is None else _moment(row.ready_by, zone),
        drying_time=None if row.drying_h is None else HOUR * row.drying_h,
        volume=1e-3 * extra["volume"] if "volume" in extra else VOLUME,  # litres, as its file says
        dryers=allowed,
    )


def _moment(at: datetime, zone: tzinfo) -> datetime:
    return at.astimezone(zone).replace(tzinfo=None, microsecond=0)


def lot_problems(lot: Lot, dryers: Sequence[PlanDryer], food: Food) -> list[InputError]:
    """Return what the engine refuses of a lot, by the fields of its form; nothing when the plan has no dryer yet.

    lot: not kept yet, with its plan
    dryers: of the plan
    food: what it is
    """
    if not dryers:
        return []
    kitchen = records.kitchen()
    zone = kitchen_zone(kitchen.time_zone)
    try:
        lots_of(plan_spec_of(lot.plan, dryers, [lot], {lot.food: food}, kitchen=kitchen, zone=zone))
    except (InputError, InputErrors) as error:
        return [_beside(problem) for problem in error.problems]
    return []


def dryer_problems(row: PlanDryer) -> list[InputError]:
    """Return what the engine refuses of the program of a dryer.

    row: not kept yet, with its dryer
    """
    problems = Problems()
    rig_of(dryer_spec_of(row).rig, problems)
    return problems


def _beside(problem: InputError) -> InputError:
    name = problem.field.removeprefix("arrival[1].")
    return InputError(FIELDS.get(name, name), problem.message)
