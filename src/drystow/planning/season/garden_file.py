"""The garden file: what ripens when, and which dryers might be there. docs/garden-file.md describes every field."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.fields import RENAMED, Fields, read_toml
from drystow.messages import msg
from drystow.planning.hours import moment, number
from drystow.planning.schedule.arrivals import Lots
from drystow.planning.schedule.cold_storage import DAY
from drystow.planning.schedule.plan_file import MOST_DRYERS, TRAY, parse_lots
from drystow.planning.season.garden import DryerChoice, Garden, GardenCrop
from drystow.units import SI

PAGE = "docs/garden-file.md"
MOST_CROPS, MOST_CHOICES, MOST_WEEKS, MOST_ROUNDS = 30, 6, 40, 200
SHARED = ("home", "tariff", "freezer", "rules")
OF_LOT = (*TRAY, "name", "tray_mass", "value", "frozen", "fridge", "freezer", "drying_time", "volume")
FILE = ("title", "begin", "weeks", "seed", "rounds", "step", "early_or_late", *SHARED, "crop", "choice")
CROP = (*OF_LOT, "first", "peak", "last", "mass", "uncertain", "per_week")
CHOICE = ("name", "price", "years", "dryer")
CLEARING = 4  # weeks after the season in which the dryers still empty the freezer
SHIFT = 6 * DAY  # how much earlier or later a year is; drystow-default
STEP = SI(3600.0, "time")  # of the grid; hours with somebody there are often short


def read_garden(path: Path) -> Garden:
    """Return the garden written in a file, or raise `InputErrors` with every problem.

    path: of a TOML file
    """
    return parse_garden(read_toml(path, PAGE))


def parse_garden(raw: Mapping[str, Any]) -> Garden:
    """Return the garden, or raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    problems: list[InputError] = []
    top = Fields(raw, "", FILE, problems)
    begin = moment(top, "begin")
    if begin is None and not problems:
        top.problem("begin", msg("is missing; write the first day of the season without quotes, such as 2026-05-18"))
    known = begin is not None
    begin = datetime.combine((begin or datetime(2026, 1, 1)).date(), time())
    weeks = top.whole("weeks", 22, 1, MOST_WEEKS)
    rows = _rows(top, "crop", MOST_CROPS)
    crops = [
        _crop(row, f"crop[{place}]", begin if known else None, weeks, problems)
        for place, row in enumerate(rows, start=1)
    ]
    choices = []
    frame = {key: raw[key] for key in (*SHARED, "step") if key in raw} | {"begin": begin, "days": 1}
    for place, row in enumerate(_rows(top, "choice", MOST_CHOICES), start=1):
        fields = Fields(row, f"choice[{place}]", CHOICE, problems)
        price, years = number(fields, "price", 0.0, 0.0, 1e6, "money"), number(fields, "years", 10.0, 1.0, 50.0)
        lots = _frame(frame, fields, rows, weeks, problems)
        name = fields.text("name") or msg("Choice {number}", number=place)
        if lots is not None:
            choices.append(DryerChoice(name, price, years, lots))
    garden = Garden(
        title=top.text("title", msg("Untitled garden")),
        begin=begin,
        weeks=weeks,
        seed=top.whole("seed", 1, 0, 2**31),
        rounds=top.whole("rounds", 20, 1, MOST_ROUNDS),
        shift=top.quantity("early_or_late", "time", SHIFT, 0.0, 30 * DAY, msg("0 to 30 days")),
        crops=tuple(crop for crop in crops if crop is not None),
        choices=tuple(choices),
    )
    if problems:
        raise InputErrors({str(problem): problem for problem in problems}.values())
    return garden


def _rows(top: Fields, key: str, most: int) -> list[object]:
    rows = top.table.get(key, [])
    if isinstance(rows, list) and 1 <= len(rows) <= most:
        return rows
    top.problem(key, msg("write {least} to {most} tables [[{key}]]", least=1, most=most, key=key))
    return []


def _crop(
    raw: object, prefix: str, begin: datetime | None, weeks: int, problems: list[InputError]
) -> GardenCrop | None:
    before = len(problems)
    fields = Fields(raw, prefix, CROP, problems)
    if not fields.readable:
        return None
    mass = fields.required("mass", "mass", 0.5, 5000.0, msg("500 g to 5000 kg"))
    uncertain = number(fields, "uncertain", 0.25, 0.0, 1.0, "fraction")
    per_week = number(fields, "per_week", 2.0, 0.25, 7.0)
    days: list[date | None] = [fields.day(key) for key in ("first", "peak", "last")]
    end = begin and begin.date() + timedelta(weeks=weeks, days=-1)
    for key, day in zip(("first", "peak", "last"), days, strict=True):
        if day is None and key not in fields.table:
            fields.problem(key, msg("is missing; write a day without quotes, such as 2026-07-14"))
        elif day is not None and begin and end and not begin.date() <= day <= end:
            words = msg(
                "{day} is not in the season; write a day from {begin} to {end}", day=day, begin=begin.date(), end=end
            )
            fields.problem(key, words)
    first, peak, last = days
    if len(problems) > before or first is None or peak is None or last is None:
        return None
    if not first <= peak <= last:
        fields.problem("peak", msg("{peak} is not between the first day and the last", peak=peak))
        return None
    return GardenCrop(_name(fields.table), first, peak, last, mass, uncertain, per_week)


def _name(row: Mapping[str, Any]) -> str:
    return str(row.get("name") or row.get("food") or "crop")


def _frame(
    frame: dict[str, Any],
    choice: Fields,
    crops: list[object],
    weeks: int,
    problems: list[InputError],
) -> Lots | None:
    """Return the kitchen of a choice, read as a plan file with one arrival for each crop."""
    dryers = choice.table.get("dryer", [])
    if not isinstance(dryers, list) or not 1 <= len(dryers) <= MOST_DRYERS:
        words = msg("write {least} to {most} tables [[{key}]]", least=1, most=MOST_DRYERS, key="choice.dryer")
        choice.problem("dryer", words)
        return None
    rows = [row for row in crops if isinstance(row, dict)]
    if not rows:
        return None
    lots = [
        {key: value for key, value in row.items() if RENAMED.get(key, key) in OF_LOT}
        | {"name": _name(row), "mass": SI(1.0, "mass"), "arrives": frame["begin"]}
        for row in rows
    ]
    table = {"step": STEP, **frame, "arrival": lots, "dryer": _named(dryers)}
    try:
        read = parse_lots(table)
    except InputErrors as many:
        problems += [_renamed(problem, choice.prefix) for problem in many.problems]
        return None
    return replace(read, days=7 * (weeks + CLEARING))


def _named(dryers: list[object]) -> list[object]:
    """Return dryers without a name with one of their own."""
    named: list[object] = []
    for place, row in enumerate(dryers, start=1):
        if isinstance(row, dict) and not row.get("name"):
            row = {**row, "name": f"{row.get('profile', 'kitchen-5')} {place}"}
        named.append(row)
    return named


def _renamed(problem: InputError, choice: str) -> InputError:
    field = problem.field
    if field.startswith("arrival["):
        return InputError("crop" + field.removeprefix("arrival"), problem.message)
    return problem.under(choice) if field.startswith("dryer") else problem
