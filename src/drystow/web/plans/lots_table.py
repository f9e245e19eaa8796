"""A plan as the table of a plan file (docs/plan-file.md), with values where a file has texts."""

from collections.abc import Mapping, Sequence
from datetime import datetime, time, tzinfo
from typing import Any

from drystow.errors import InputError
from drystow.fields import new_names
from drystow.foods.model import Food
from drystow.foods.written import food_fields
from drystow.messages import msg
from drystow.planning.schedule.cold_storage import DAY
from drystow.units import SI
from drystow.web.batches.adapters import program_steps
from drystow.web.kit.models import Kitchen
from drystow.web.plans.models import Crop, Lot, Plan, PlanDryer


def lots_table(
    plan: Plan,
    dryers: Sequence[PlanDryer],
    lots: Sequence[Lot],
    foods: Mapping[str, Food],
    *,
    kitchen: Kitchen,
    zone: tzinfo,
) -> dict[str, Any]:
    """Return a plan as the table of a plan file, with dates as dates; `InputError` when a lot may go into no dryer.

    Rows of ``dryer`` and ``arrival`` stand in the order given, so that the number of a row tells which record it is;
    lots with one name are numbered (`lot_names`). An own food or recipe stands there as its composition, with its
    marks.

    plan: with hours, tariff, freezer and rules
    dryers: of the plan, each with its dryer
    lots: of the plan
    foods: by reference, those of the lots, from `foods_of`
    kitchen: its altitude, and its price of a kilowatt-hour where the plan has no tariff of its own
    zone: clock of the kitchen
    """
    names = {row.dryer_id: row.dryer.name for row in dryers}
    begin: Any = plan.begin
    if "begin_time" in plan.extra:
        begin = datetime.combine(plan.begin, time.fromisoformat(plan.extra["begin_time"]))
    table: dict[str, Any] = {"title": plan.title, "begin": begin, "days": plan.days}
    table |= {key: value for key, value in plan.extra.items() if key == "step"}
    table["home"] = plan.home
    if kitchen.altitude_m:
        table["altitude"] = SI(kitchen.altitude_m, "altitude")
    table["tariff"] = plan.tariff or {"price": kitchen.tariff_per_kwh}
    table["freezer"] = {"space": SI(plan.freezer_m3, "volume")}
    table["rules"] = {"apart": ["germs", *(rule for rule in plan.apart if rule != "germs")]}
    table["dryer"] = [dryer_table(row) for row in dryers]
    table["arrival"] = [
        {"name": name, **_lot(row, foods[row.food], names, zone)}
        for name, row in zip(lot_names(lots), lots, strict=True)
    ]
    return table


def lot_names(lots: Sequence[Lot | Crop]) -> list[str]:
    """Return what the lots are called in a plan file, each its own.

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


def dryer_table(row: PlanDryer) -> dict[str, Any]:
    """Return a dryer of a plan as the table of a plan file; what is empty is left out.

    row: with its dryer
    """
    table = {
        "name": row.dryer.name,
        "profile": row.dryer.profile,
        "turnaround": SI(3600.0 * row.turnaround_h, "time"),
        "service": [{key: datetime.fromisoformat(stop[key]) for key in ("from", "to")} for stop in row.stops],
        "numbers": row.dryer.numbers,
        "program": {"shelf": program_steps(row.program), **row.extra},
    }
    return {key: value for key, value in table.items() if value not in ([], {})}


def cut_table(row: Lot | Crop, food: Food) -> dict[str, Any]:
    """Return what a plan file writes of a food, its cut, its trays and its worth.

    row: a lot or a crop
    food: what it is
    """
    table = food_fields(food)
    table |= {"shape": row.shape, "size": SI(row.size_m, "length"), "value": row.value_per_kg}
    return table if row.tray_kg is None else table | {"tray_mass": SI(row.tray_kg, "mass")}


def _lot(row: Lot, food: Food, dryers: Mapping[int, str], zone: tzinfo) -> dict[str, Any]:
    table = cut_table(row, food) | {
        "mass": SI(row.mass_kg, "mass"),
        "arrives": _moment(row.arrives, zone),
        "frozen": row.frozen,
        "must": row.must,
    }
    if row.ready_by is not None:
        table["needed_by"] = _moment(row.ready_by, zone)
    if row.drying_h is not None:
        table["drying_time"] = SI(3600.0 * row.drying_h, "time")
    waits = {"fridge": row.fridge_days, "freezer": row.freezer_days}
    table |= {name: SI(DAY * days, "time") for name, days in waits.items() if days is not None}
    table |= {name: value for name, value in new_names(row.extra).items() if name != "dryers"}
    if wished := row.extra.get("dryers"):
        table["dryers"] = [dryers[number] for number in wished if number in dryers]
        if not table["dryers"]:
            words = msg(
                "{lot} may only go in a dryer that is not part of the plan; change the food or the dryers", lot=row.name
            )
            raise InputError("dryers", words)
    return table


def _moment(at: datetime, zone: tzinfo) -> datetime:
    return at.astimezone(zone).replace(tzinfo=None, microsecond=0)
