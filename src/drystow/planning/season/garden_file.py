"""The garden file, a notation of a `GardenSpec`: what ripens when, and which dryers might be there.
docs/garden-file.md describes every field."""

from collections.abc import Mapping
from datetime import datetime, time
from pathlib import Path
from typing import Any

from drystow.fields import Fields, Problems, read_toml
from drystow.messages import msg
from drystow.planning.hours import moment
from drystow.planning.schedule.arrivals import PlanSpec
from drystow.planning.schedule.plan_file import (
    DRYER,
    MOST_DRYERS,
    RULE,
    TRAY,
    arrival_spec,
    dryer_spec,
    lot_fields,
    rows_of,
    space_of,
)
from drystow.planning.season.garden import ChoiceSpec, Garden, GardenCrop, GardenSpec, check_days, garden_of
from drystow.planning.separation import read_apart
from drystow.ranges import HOUR, RANGES

PAGE = "docs/garden-file.md"
MOST_CROPS, MOST_CHOICES = 30, 6
SHARED = ("home", "tariff", "freezer", "rules")
OF_LOT = (*TRAY, "name", "tray_mass", "value", "frozen", "fridge", "freezer", "drying_time", "volume")
FILE = ("title", "begin", "weeks", "seed", "rounds", "step", "early_or_late", *SHARED, "crop", "choice")
CROP = (*OF_LOT, "first", "peak", "last", "mass", "uncertain", "per_week")
CHOICE = ("name", "price", "years", "dryer")
STEP = HOUR  # of the grid; hours with somebody there are often short
ANY_BEGIN = datetime(2026, 1, 1)  # where none can be read


def read_garden(path: Path) -> Garden:
    """Return the garden written in a file, or raise `InputErrors` with every problem.

    path: of a TOML file
    """
    return parse_garden(read_toml(path, PAGE))


def parse_garden(raw: Mapping[str, Any]) -> Garden:
    """Return the garden, or raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    problems = Problems()
    return garden_of(garden_spec(raw, problems), problems)


def garden_spec(raw: Mapping[str, Any], problems: Problems) -> GardenSpec:
    """Return what a table asks for; something harmless where there are problems.

    raw: the table as read from TOML
    problems: to which every problem is added
    """
    top = Fields(raw, "", FILE, problems, RANGES["garden"] | {"step": RANGES["plan"]["step"]})
    begin = moment(top, "begin")
    if begin is None and not problems:
        top.problem("begin", msg("is missing; write the first day of the season without quotes, such as 2026-05-18"))
    space, by_mass = space_of(top)
    kitchen = PlanSpec(
        begin=datetime.combine((begin or ANY_BEGIN).date(), time()),
        dryers=(),
        arrivals=(),
        days=1,
        step=top.quantity("step", STEP),
        home=top.table.get("home", {}),
        tariff=top.table.get("tariff", {}),
        freezer=space,
        freezer_by_mass=by_mass,
        rules=read_apart(Fields(top.table.get("rules", {}), "rules", RULE, problems)),
    )
    weeks = top.whole("weeks", GardenSpec.weeks)
    crops = [_crop(row, name, kitchen.begin, weeks, problems) for row, name in rows_of(top, "crop", MOST_CROPS)]
    return GardenSpec(
        kitchen=kitchen,
        crops=tuple(crop for crop in crops if crop is not None),
        choices=tuple(
            _choice(Fields(row, name, CHOICE, problems, RANGES["choice"]), place)
            for place, (row, name) in enumerate(rows_of(top, "choice", MOST_CHOICES), start=1)
        ),
        title=top.text("title", GardenSpec.title),
        weeks=weeks,
        seed=top.whole("seed", GardenSpec.seed),
        rounds=top.whole("rounds", GardenSpec.rounds),
        early_or_late=top.quantity("early_or_late", GardenSpec.early_or_late),
    )


def _crop(raw: object, prefix: str, begin: datetime, weeks: int, problems: Problems) -> GardenCrop | None:
    before = len(problems)
    if isinstance(raw, dict) and not raw.get("name"):
        raw = raw | {"name": str(raw.get("food") or "crop")}
    fields = lot_fields(raw, prefix, CROP, problems)
    fields.ranges = fields.ranges | RANGES["crop"]
    arrival = arrival_spec(fields, begin, 1.0)
    mass = fields.required("mass") if fields.readable else 0.0
    uncertain, per_week = (
        fields.number("uncertain", GardenCrop.uncertain),
        fields.number("per_week", GardenCrop.per_week),
    )
    days = {key: fields.day(key) for key in ("first", "peak", "last")}
    for key, day in days.items():
        if day is None and fields.readable and key not in fields.table:
            fields.problem(key, msg("is missing; write a day without quotes, such as 2026-07-14"))
    first, peak, last = days.values()
    if arrival is None or len(problems) > before or first is None or peak is None or last is None:
        check_days(days, prefix, begin.date(), weeks, problems)
        return None
    return GardenCrop(arrival, first, peak, last, mass, uncertain, per_week)


def _choice(fields: Fields, place: int) -> ChoiceSpec:
    dryers = fields.table.get("dryer", [])
    if not isinstance(dryers, list) or not 1 <= len(dryers) <= MOST_DRYERS:
        words = msg("write {least} to {most} tables [[{key}]]", least=1, most=MOST_DRYERS, key="choice.dryer")
        fields.problem("dryer", words)
        dryers = []
    rows = [Fields(row, f"{fields.prefix}.dryer[{number}]", DRYER, fields.problems, RANGES["plan.dryer"])
            for number, row in enumerate(dryers, start=1)]  # fmt: skip
    return ChoiceSpec(
        name=fields.text("name") or msg("Choice {number}", number=place),
        dryers=tuple(dryer_spec(row, number) for number, row in enumerate(rows, start=1)),
        price=fields.number("price", ChoiceSpec.price),
        years=fields.number("years", ChoiceSpec.years),
    )
