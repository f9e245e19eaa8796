"""The plan file, a notation of a `PlanSpec`: what arrives when, in which dryers it may be dried. docs/plan-file.md
describes every field."""

import math
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.fields import Fields, Problems, read_toml
from drystow.foods.written import OWN_FOOD, food_fields, written_food
from drystow.machine.load import ProgramStep, TraySpec
from drystow.machine.loadfile import CUT_KEYS, cut_fields, cut_table, rig_spec, rig_tables
from drystow.machine.profile import profile_names
from drystow.messages import Message, msg
from drystow.planning.hours import moment
from drystow.planning.load.basket import WHOLE
from drystow.planning.schedule.arrivals import (
    VOLUME,
    ArrivalSpec,
    ArrivingLot,
    DryerSpec,
    FixedBatch,
    Lots,
    PlannedDryer,
    PlanSpec,
    in_dryer,
    lots_of,
)
from drystow.planning.separation import WRITTEN as RULE_NAMES
from drystow.planning.separation import read_apart
from drystow.ranges import LONGEST, RANGES, in_notation
from drystow.units import in_file, kelvin, parse

FIXED = ("dryer", "start", "end", "trays", "mass", "begun")
MOST_FIXED = 200
MOST_TRAYS = 100  # of one lot in one batch


def read_fixed(
    raw: object, prefix: str, dryers: list[PlannedDryer], lots: list[ArrivingLot], problems: Problems
) -> FixedBatch | None:
    """Return one batch that is kept as it is, or None after noting every problem.

    raw: the table as read from TOML
    prefix: name of the table in error messages
    dryers: of the plan
    lots: of the plan
    problems: list to which every problem is added
    """
    before = len(problems)
    fields = Fields(raw, prefix, FIXED, problems)
    if not fields.readable:
        return None
    names = [dryer.name for dryer in dryers]
    dryer = fields.choice("dryer", names, names[0] if len(names) == 1 else "", msg("dryer"))
    start, end = (moment(fields, key) for key in ("start", "end"))
    if start is None or end is None or not timedelta() < end - start < timedelta(seconds=LONGEST):
        fields.problem("end", msg("write start and end, with the end after the start and within 20 days"))
    trays = _trays(fields, [lot.name for lot in lots])
    masses = _masses(fields, [name for name, _count in trays])
    begun = fields.flag("begun") if fields.has("begun") else True
    if len(problems) > before or start is None or end is None:
        return None
    return FixedBatch(names.index(dryer), start, end, trays, masses, begun)


def _trays(fields: Fields, known: list[str]) -> tuple[tuple[str, int], ...]:
    inside = fields.table.get("trays", {})
    found = []
    if not isinstance(inside, dict):
        fields.problem("trays", _such_as(known))
        return ()
    for name, count in inside.items():
        whole = isinstance(count, int) and not isinstance(count, bool) and 1 <= count <= MOST_TRAYS
        if name not in known or not whole:
            fields.problem("trays", _such_as(known))
        else:
            found.append((name, count))
    return tuple(found)


def _such_as(known: list[str]) -> Message:
    name = known[0] if known else "Tomatoes"
    return msg('write names of arrivals with whole trays, such as trays = {{ "{name}" = 2 }}', name=name)


def _masses(fields: Fields, inside: list[str]) -> tuple[tuple[str, float], ...]:
    raw = fields.table.get("mass", {})
    if not isinstance(raw, dict):
        fields.problem("mass", msg('write names of arrivals with weights, such as mass = {{ "Tomatoes" = "3 kg" }}'))
        return ()
    weighed = Fields(raw, f"{fields.prefix}.mass", inside, fields.problems)
    allowed = RANGES["fixed"]["mass"]
    found = []
    for name in raw:
        if name not in inside:
            continue  # already told of
        try:
            mass = parse(raw[name], "mass", f"{weighed.prefix}.{name}")
        except InputError as problem:
            fields.problems.append(problem)
            continue
        if not allowed.holds(mass):
            fields.problems.append(allowed.problem(weighed.name(name), str(raw[name])))
        found.append((name, mass))
    return tuple(found)


PAGE = "docs/plan-file.md"
MOST_LOTS, MOST_DRYERS, MOST_STOPS = 80, 6, 50
FILE = ("title", "begin", "days", "step", "altitude", "home", "tariff", "freezer", "rules", "dryer", "arrival", "fixed")
FREEZER = ("space",)
RULE = ("apart",)
DRYER = ("name", "profile", "program", "turnaround", "service", "numbers")
SERVICE = ("from", "to")
TRAY = ("food", *OWN_FOOD, "shape", "size", *CUT_KEYS, "final_moisture", "start_temperature",
        "skin_state")  # fmt: skip
LOT = (*TRAY, "name", "mass", "tray_mass", "arrives", "value", "frozen", "fridge", "freezer", "must", "needed_by",
       "drying_time", "volume", "dryers")  # fmt: skip
USUAL_PROGRAM = (ProgramStep(kelvin(-10.0), 7200.0), ProgramStep(kelvin(40.0), math.inf))


def read_lots(path: Path) -> Lots:
    """Return the lots written in a file, or raise `InputErrors` with every problem.

    path: of a TOML file
    """
    return parse_lots(read_toml(path, PAGE))


def parse_lots(raw: Mapping[str, Any]) -> Lots:
    """Return the lots, or raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    return parse_plan(raw)[1]


def parse_plan(raw: Mapping[str, Any]) -> tuple[PlanSpec, Lots]:
    """Return what a table asks for, and what a schedule is made from; raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    problems = Problems()
    if "food" in raw and not {"arrival", "lot", "begin"} & raw.keys():
        words = msg("this is a basket file, for one load; find it with 'drystow best-load'")
        raise InputErrors([InputError("", words)])
    top = Fields(raw, "", FILE, problems, RANGES["plan"])
    spec = _spec(top)
    lots = lots_of(spec, problems, top.name("arrival"))
    rows = rows_of(top, "fixed", MOST_FIXED, least=0)
    fixed = [read_fixed(*one, list(lots.dryers), list(lots.lots), problems) for one in rows]
    if problems:
        raise InputErrors(problems)
    return spec, replace(lots, fixed=tuple(batch for batch in fixed if batch is not None))


def _spec(top: Fields) -> PlanSpec:
    """Return what a table asks for; something harmless where there are problems."""
    problems = top.problems
    begin = moment(top, "begin")
    if not top.has("begin"):
        top.problem("begin", msg("is missing; write the first day of the plan without quotes, such as 2026-09-07"))
    space, by_mass = space_of(top)
    rules = Fields(top.table.get("rules", {}), "rules", RULE, problems)
    dryers = [dryer_spec(Fields(row, name, DRYER, problems, RANGES["plan.dryer"]))
              for row, name in rows_of(top, "dryer", MOST_DRYERS)]  # fmt: skip
    lots = [arrival_spec(lot_fields(row, name, LOT, problems)) for row, name in rows_of(top, "arrival", MOST_LOTS)]
    return PlanSpec(
        begin=begin or datetime.min,
        dryers=tuple(dryers),
        arrivals=tuple(lot for lot in lots if lot is not None),
        title=top.text("title", PlanSpec.title),
        days=top.whole("days", PlanSpec.days),
        step=top.quantity("step", None),
        altitude=top.quantity("altitude", 0.0),
        home=top.table.get("home", {}),
        tariff=top.table.get("tariff", {}),
        freezer=space,
        freezer_by_mass=by_mass,
        rules=read_apart(rules),
    )


def rows_of(top: Fields, key: str, most: int, least: int = 1) -> list[tuple[object, str]]:
    """Return the tables of a list, each with its name in problems.

    top: the table that has the list
    key: its name
    most: tables that it may have
    least: tables that it has to have
    """
    rows = top.table.get(key, [])
    if not isinstance(rows, list) or not least <= len(rows) <= most:
        top.problem(key, msg("write {least} to {most} tables [[{key}]]", least=least, most=most, key=key))
        return []
    return [(row, f"{top.name(key)}[{place}]") for place, row in enumerate(rows, start=1)]


def space_of(top: Fields) -> tuple[float, bool]:
    """Return the space of the freezer, and whether it is a mass.

    top: table of the file
    """
    table = top.table.get("freezer", {})
    fields = Fields(table, "freezer", FREEZER, top.problems, RANGES["freezer.volume"])
    if not fields.has("space"):
        return 0.0, False
    try:
        parse(fields.table["space"], "mass", "freezer.space")
    except InputError:
        return fields.quantity("space", 0.0), False
    fields.ranges = RANGES["freezer.mass"]
    return fields.quantity("space", 0.0), True


def dryer_spec(fields: Fields, number: int | None = None) -> DryerSpec:
    """Return the dryer that a table asks for; something harmless where there are problems.

    fields: the table
    number: behind the name of its profile, where the dryer has no name of its own
    """
    profile = fields.choice("profile", profile_names(), "kitchen-5", msg("set of starting numbers"))
    service = []
    for row, place in rows_of(fields, "service", MOST_STOPS, least=0):
        part = Fields(row, place, SERVICE, fields.problems)
        begin, end = (moment(part, key) for key in SERVICE)
        if begin is None or end is None or end <= begin:
            part.problem("to", msg("write from and to, with the end after the beginning"))
        else:
            service.append((begin, end))
    numbers = fields.table.get("numbers", {})
    with in_dryer(fields.problems, fields.prefix) as inner:
        dryer = {"profile": profile, **numbers} if isinstance(numbers, dict) else numbers
        program = fields.table.get("program", {"shelf": [str(step) for step in USUAL_PROGRAM]})
        rig = rig_spec({"dryer": dryer, "program": program}, inner)
    turnaround = fields.quantity("turnaround", DryerSpec.turnaround)
    usual = profile if number is None else f"{profile} {number}"
    return DryerSpec(fields.text("name") or usual, rig, turnaround, tuple(service))


def lot_fields(raw: object, prefix: str, known: tuple[str, ...], problems: Problems) -> Fields:
    """Return the table of food that comes, ready for `arrival_spec`.

    raw: the table as read from TOML
    prefix: its name in problems
    known: fields that it may have
    problems: to which every problem is added
    """
    return Fields(raw, prefix, known, problems, RANGES["tray"] | RANGES["arrival"])


def arrival_spec(fields: Fields, arrives: datetime | None = None, mass: float | None = None) -> ArrivalSpec | None:
    """Return the food that a table asks for, or None after adding every problem.

    fields: the table, from `lot_fields`
    arrives: when it comes, None for what is written
    mass: of it [kg], None for what is written
    """
    before = len(fields.problems)
    if not fields.readable:
        return None
    if arrives is None:
        arrives = moment(fields, "arrives")
        if not fields.has("arrives"):
            fields.problem("arrives", msg("is missing; write it without quotes, such as 2026-09-07T18:00:00"))
    food_table = Fields(_food_table(fields), fields.prefix, (*TRAY, "name"), fields.problems)
    if not fields.has("food", "composition"):
        fields.problem("food", msg("is missing; name a listed food or give [tray.composition]"))
    food = written_food(food_table) if fields.has("food", "composition") else None
    cut, size = cut_fields(fields), fields.required("size")
    values: dict[str, Any] = {
        "mass": fields.required("mass") if mass is None else mass,
        "tray_mass": fields.quantity("tray_mass", None),
        "value": fields.number("value", ArrivalSpec.value),
        "frozen": fields.flag("frozen"),
        "fridge": fields.quantity("fridge", None),
        "freezer": fields.quantity("freezer", None),
        "must": fields.flag("must"),
        "needed_by": moment(fields, "needed_by"),
        "drying_time": fields.quantity("drying_time", None),
        "volume": fields.number("volume", VOLUME, 1e-3),
        "dryers": fields.texts("dryers", MOST_DRYERS),
    }
    if len(fields.problems) > before or food is None or arrives is None:
        return None
    tray = TraySpec(food, WHOLE, size, **cut | {"frozen": False})
    return ArrivalSpec(fields.text("name") or food.name, tray, arrives=arrives, **values)


def _food_table(fields: Fields) -> dict[str, Any]:
    """Return the fields that describe the food; a written composition is named like the lot."""
    written = fields.part(TRAY)
    if fields.has("composition") and not fields.has("food") and fields.has("name"):
        written["name"] = fields.table["name"]
    return written


def plan_table(spec: PlanSpec) -> dict[str, Any]:
    """Return a plan as the table of a plan file.

    spec: what is asked for
    """
    begin: Any = spec.begin if spec.begin.time() != datetime.min.time() else spec.begin.date()
    table: dict[str, Any] = {"title": str(spec.title), "begin": begin, "days": spec.days}
    table |= in_notation(spec, {name: RANGES["plan"][name] for name in ("step", "altitude") if getattr(spec, name)})
    table |= {"home": dict(spec.home), "tariff": dict(spec.tariff)}
    kind = "freezer.mass" if spec.freezer_by_mass else "freezer.volume"
    table["freezer"] = {"space": in_file(spec.freezer, RANGES[kind]["space"].kind)}
    names = {rule: name for name, rule in RULE_NAMES.items()}
    table["rules"] = {"apart": [names.get(rule, rule) for rule in spec.rules]}
    table["dryer"] = [_dryer_table(dryer) for dryer in spec.dryers]
    table["arrival"] = [_arrival_table(lot) for lot in spec.arrivals]
    return {name: value for name, value in table.items() if value != {}}


def _dryer_table(spec: DryerSpec) -> dict[str, Any]:
    tables = rig_tables(spec.rig)
    numbers = {name: value for name, value in tables["dryer"].items() if name != "profile"}
    table = {
        "name": spec.name,
        "profile": spec.rig.profile,
        **in_notation(spec, RANGES["plan.dryer"]),
        "service": [dict(zip(SERVICE, span, strict=True)) for span in spec.service],
        "numbers": numbers,
        "program": tables["program"],
    }
    return {name: value for name, value in table.items() if value not in ([], {})}


def _arrival_table(spec: ArrivalSpec) -> dict[str, Any]:
    table: dict[str, Any] = {"name": spec.name, **food_fields(spec.tray.food)}
    table |= {name: value for name, value in cut_table(spec.tray).items() if name != "mass"}
    quantities = {name: allowed for name, allowed in RANGES["arrival"].items() if name not in ("value", "volume")}
    table |= in_notation(spec, quantities)
    table |= {"arrives": spec.arrives, "value": spec.value}
    table |= {name: True for name in ("frozen", "must") if getattr(spec, name)}
    if spec.needed_by is not None:
        table["needed_by"] = spec.needed_by
    if spec.volume != VOLUME:
        table["volume"] = 1e3 * spec.volume
    return table | ({"dryers": list(spec.dryers)} if spec.dryers else {})
