"""The plan file: what arrives when, in which dryers it may be dried. docs/plan-file.md describes every field."""

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.fields import Fields, Problems, new_names, read_toml
from drystow.foods.written import OWN_FOOD
from drystow.machine.load import LONGEST, Load, ProgramStep
from drystow.machine.loadfile import parse_load
from drystow.machine.profile import profile_names
from drystow.machine.traytable import TraySurroundings, read_tray
from drystow.messages import listed, msg
from drystow.planning.hours import moment, number, read_home, read_tariff
from drystow.planning.load.basket import LITTLE, STAND_IN, holds, significant
from drystow.planning.schedule.arrivals import ArrivingLot, Lots, LotTray, PlannedDryer, window_of
from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.schedule.fixed_file import MOST_FIXED, read_fixed
from drystow.planning.separation import read_apart
from drystow.units import SI, kelvin, si_of

PAGE = "docs/plan-file.md"
MOST_LOTS, MOST_DRYERS, MOST_DAYS = 80, 6, 35
FILE = ("title", "begin", "days", "step", "altitude", "home", "tariff", "freezer", "rules", "dryer", "arrival", "fixed")
FREEZER = ("space",)
RULE = ("apart",)
DRYER = ("name", "profile", "program", "turnaround", "service", "numbers")
SERVICE = ("from", "to")
TRAY = ("food", *OWN_FOOD, "shape", "size", "faces", "final_moisture", "start_temperature")
LOT = (*TRAY, "name", "mass", "tray_mass", "arrives", "value", "frozen", "fridge", "freezer", "must", "needed_by",
       "drying_time", "volume", "dryers")  # fmt: skip
USUAL_PROGRAM = {"shelf": [ProgramStep(kelvin(-10.0), 7200.0), ProgramStep(kelvin(40.0), math.inf)]}
VOLUME = 1.7e-3  # freezer space of a kilogram of bagged pieces [m3/kg]; drystow-default


def read_lots(path: Path) -> Lots:
    """Return the lots written in a file, or raise `InputErrors` with every problem.

    path: of a TOML file
    """
    return parse_lots(read_toml(path, PAGE))


def parse_lots(raw: Mapping[str, Any]) -> Lots:
    """Return the lots, or raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    problems = Problems()
    _is_plan(raw)
    top = Fields(raw, "", FILE, problems)
    title = top.text("title", msg("Untitled plan"))
    begin = moment(top, "begin")
    if not top.has("begin"):
        top.problem("begin", msg("is missing; write the first day of the plan without quotes, such as 2026-09-07"))
    days = top.whole("days", 14, 1, MOST_DAYS)
    step = top.quantity("step", "time", 0.0, 900.0, 6 * 3600.0, msg("15 min to 6 h"))
    altitude = top.quantity("altitude", "altitude", 0.0, -500.0, 9000.0, msg("-500 to 9000 m"))
    freezer = Fields(raw.get("freezer", {}), "freezer", FREEZER, problems)
    space, by_mass = _space(freezer)
    rules = Fields(raw.get("rules", {}), "rules", RULE, problems)
    apart = read_apart(rules)
    home, price = read_home(raw.get("home", {}), problems), read_tariff(raw.get("tariff", {}), problems)
    dryers = [_dryer(*one, problems) for one in _rows(top, "dryer", MOST_DRYERS)]
    ready = [dryer for dryer in dryers if dryer is not None]
    rows = _rows(top, "arrival", MOST_LOTS)
    if problems or begin is None:
        raise InputErrors(problems)
    _once([dryer.name for dryer in ready], "dryer", problems)
    lots = [lot for one in rows if (lot := _lot(*one, ready, problems)) is not None]
    _once([lot.name for lot in lots], top.name("arrival"), problems)
    fixed = [read_fixed(*one, ready, lots, problems) for one in _rows(top, "fixed", MOST_FIXED, least=0)]
    if problems:
        raise InputErrors(problems)
    return Lots(
        title=title,
        begin=begin,
        days=days,
        step=step,
        home=home,
        price=price,
        freezer=space,
        freezer_by_mass=by_mass,
        rules=tuple(dict.fromkeys(("germs", *apart))),
        dryers=tuple(ready),
        lots=tuple(lots),
        fixed=tuple(batch for batch in fixed if batch is not None),
        altitude=altitude,
        notes=tuple(problems.notes),
    )


def arrivals_of(raw: Mapping[str, Any]) -> list[Any]:
    """Return the tables of the food that comes, whatever name they have.

    raw: the table of a plan file, as read from TOML
    """
    rows: list[Any] = new_names(raw)["arrival"]
    return rows


def _is_plan(raw: Mapping[str, Any]) -> None:
    if "food" in raw and not {"arrival", "lot", "begin"} & raw.keys():
        words = msg("this is a basket file, for one load; find it with 'drystow best-load'")
        raise InputErrors([InputError("", words)])


def _rows(top: Fields, key: str, most: int, least: int = 1) -> list[tuple[object, str]]:
    rows = top.table.get(key, [])
    if not isinstance(rows, list) or not least <= len(rows) <= most:
        top.problem(key, msg("write {least} to {most} tables [[{key}]]", least=least, most=most, key=key))
        return []
    return [(row, f"{top.written.get(key, key)}[{place}]") for place, row in enumerate(rows, start=1)]


def _once(names: list[str], key: str, problems: list[InputError]) -> None:
    for place, name in enumerate(names, start=1):
        if name in names[: place - 1]:
            problems.append(
                InputError(f"{key}[{place}].name", msg("'{name}' is there twice; give each its own name", name=name))
            )


def _space(fields: Fields) -> tuple[float, bool]:
    if not fields.has("space"):
        return 0.0, False
    allowed = msg("a volume such as '60 L' or a weight up to 5000 kg")
    try:
        si_of(fields.table["space"], "mass", "freezer.space")
    except InputError:
        return fields.quantity("space", "volume", 0.0, 0.0, 10.0, allowed), False
    return fields.quantity("space", "mass", 0.0, 0.0, 5000.0, allowed), True


def _dryer(raw: object, prefix: str, problems: list[InputError]) -> PlannedDryer | None:
    before = len(problems)
    fields = Fields(raw, prefix, DRYER, problems)
    profile = fields.choice("profile", profile_names(), "kitchen-5", msg("set of starting numbers"))
    turnaround = fields.quantity("turnaround", "time", 3 * 3600.0, 0.0, 7 * DAY, msg("0 h to 7 days"))
    service = []
    for row, name in _rows(fields, "service", 50, least=0):
        part = Fields(row, f"{prefix}.{name}", SERVICE, problems)
        begin, end = (moment(part, key) for key in SERVICE)
        if begin is None or end is None or end <= begin:
            part.problem("to", msg("write from and to, with the end after the beginning"))
        else:
            service.append((begin, end))
    numbers = fields.table.get("numbers", {})
    program = fields.table.get("program", USUAL_PROGRAM)
    table = {"dryer": {"profile": profile, **numbers} if isinstance(numbers, dict) else numbers, "program": program}
    if len(problems) > before:
        return None
    try:
        frame = parse_load({**table, "tray": [STAND_IN]})
    except InputErrors as many:
        problems += [_in_dryer(problem, prefix) for problem in many.problems]
        return None
    return PlannedDryer(fields.text("name") or profile, frame, turnaround, tuple(service))


def _in_dryer(problem: InputError, prefix: str) -> InputError:
    """Return a problem of the load file with the name that its field has in a plan file."""
    inside, found, name = problem.field.partition("dryer")
    return InputError(f"numbers{name}" if found and not inside else problem.field, problem.message).under(prefix)


def _lot(raw: object, prefix: str, dryers: list[PlannedDryer], problems: list[InputError]) -> ArrivingLot | None:
    before = len(problems)
    fields = Fields(raw, prefix, LOT, problems)
    if not fields.readable:
        return None
    mass = fields.required("mass", "mass", 0.05, 2000.0, msg("50 g to 2000 kg"))
    tray_mass = fields.quantity("tray_mass", "mass", 0.0, 0.02, 100.0, msg("20 g to 100 kg"))
    arrival = moment(fields, "arrives")
    if not fields.has("arrives"):
        fields.problem("arrives", msg("is missing; write it without quotes, such as 2026-09-07T18:00:00"))
    needed_by = moment(fields, "needed_by")
    time = fields.quantity("drying_time", "time", 0.0, 3600.0, LONGEST, msg("1 h to 20 days"))
    volume = 1e-3 * number(fields, "volume", 1e3 * VOLUME, 0.5, 20.0)
    value = number(fields, "value", 1.0, 0.0, 1e5, "money")
    allowed = fields.texts("dryers", MOST_DRYERS)
    names = [dryer.name for dryer in dryers]
    for name in allowed:
        if name not in names:
            fields.problem(
                "dryers",
                msg(
                    "this file has no dryer '{name}'; write {names}",
                    name=name,
                    names=listed(f"'{one}'" for one in names),
                ),
            )
    frozen, must = fields.flag("frozen"), fields.flag("must")
    if len(problems) > before or arrival is None:
        return None
    written = _written(fields)
    cuts = []
    for dryer in dryers:
        use = not allowed or dryer.name in allowed
        cuts.append(_cut(written, prefix, dryer.frame, tray_mass, problems) if use else None)
        if len(problems) > before:
            return None
    food = next(cut.fresh.food for cut in cuts if cut is not None)
    name = fields.text("name") or food.name
    fridge = fields.quantity("fridge", "time", 0.0, 0.0, 365 * DAY, msg("0 h to 365 days"))
    freezer = fields.quantity("freezer", "time", 0.0, 0.0, 1000 * DAY, msg("0 h to 1000 days"))
    own = (fridge if fields.has("fridge") else None, freezer if fields.has("freezer") else None)
    try:
        window = window_of(food, own)
    except InputError as problem:
        fields.problem(problem.field, problem.message)
    if len(problems) > before:
        return None
    return ArrivingLot(
        name=name,
        arrival=arrival,
        mass=mass,
        value=value,
        cuts=tuple(cuts),
        window=window,
        frozen=frozen,
        must=must,
        ready_by=needed_by,
        drying_time=time,
        volume=volume,
    )


def _written(fields: Fields) -> dict[str, Any]:
    """Return the fields of a lot that describe its food and cut; a written composition is named like the lot."""
    written = fields.part(TRAY)
    if fields.has("composition") and not fields.has("food") and fields.has("name"):
        written["name"] = fields.table["name"]
    return written


def _cut(
    written: Mapping[str, Any], prefix: str, frame: Load, tray_mass: float, problems: list[InputError]
) -> LotTray | None:
    place = TraySurroundings(frame.dryer, frame.freeze_to, False)
    area = frame.dryer.tray_area
    little = read_tray({**written, "mass": LITTLE}, prefix, place, problems)
    if little is None:
        return None
    most = holds(little, area, frame.dryer)
    full = min(tray_mass or most, most)
    covered = area
    if little.shape == "slab":
        covered = area * min(full / most, 1.0)
    table = {**written, "mass": SI(significant(full), "mass"), "area": SI(significant(covered), "area")}
    cold = {key: value for key, value in table.items() if key != "start_temperature"}
    fresh = read_tray(table, prefix, place, problems)
    frozen = read_tray({**cold, "frozen": True}, prefix, place, problems)
    if fresh is None or frozen is None:
        return None
    return LotTray(full, fresh, frozen)
