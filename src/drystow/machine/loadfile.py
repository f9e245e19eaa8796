"""The load file: a TOML text -> a `Load`, every problem named."""

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors, nearest
from drystow.fields import Problems, read_toml
from drystow.machine.load import LONGEST, Load, ProgramStep
from drystow.machine.profile import BARE, KINDS, Dryer, dryer_profile, profile_names, read_dryer
from drystow.machine.traytable import HOUSEHOLD_FREEZER, TraySurroundings, on_trays, read_tray, written_area
from drystow.messages import msg
from drystow.shown import between, quantity
from drystow.units import SI, as_written, si_of

PAGE = "docs/load-file.md"
MOST_TRAYS = 60
DEFAULT_PROFILE = "kitchen-5"
FREEZE_MARGIN = 7.0  # core ends this much warmer than the freezer's air [K]
RUN_KEYS = ("profile", "pressure_mode", "chamber_pressure", "shelf_temperature", "upper_temperature")
PROGRAM_KEYS = ("shelf", "freeze", "freeze_to", "overload")
HOUSEHOLD_FREEZER_POWER = 110.0  # heat that a household freezer removes from warm food [W]; class default
FREEZERS = ("dryer", "household freezer")
COLDEST, WARMEST = ZERO_CELSIUS - 80, ZERO_CELSIUS + 150


def read_load(path: Path) -> Load:
    """Return the load written in a file.

    path: of a TOML load file
    """
    return parse_load(read_toml(path, PAGE))


def parse_load(raw: Mapping[str, Any]) -> Load:
    """Return the load written in a table; raise `InputErrors` with every problem found.

    raw: the table as read from TOML
    """
    problems = Problems()
    _check_keys(raw, ("title", "dryer", "program", "tray"), "", problems)
    dryer_raw = _table(raw, "dryer", problems)
    program_raw = _table(raw, "program", problems)
    if problems and not (isinstance(raw.get("dryer", {}), Mapping) and isinstance(raw.get("program", {}), Mapping)):
        raise InputErrors(problems)
    held = _held(dryer_raw, problems)
    dryer, profile = _dryer(dryer_raw, problems)
    program = _program(program_raw, held, dryer_raw, dryer, problems)
    freeze_to, freezer_notes, dryer = _freezer(program_raw, dryer, problems)
    trays = raw.get("tray", [])
    if not isinstance(trays, list) or not trays or not all(isinstance(tray, dict) for tray in trays):
        problems.append(
            InputError("tray", msg("there is no food; add at least one [[tray]] with food, mass, shape and size"))
        )
        trays = []
    if len(trays) > MOST_TRAYS:
        problems.append(
            InputError(
                "tray",
                msg("{count} items are more than the {most} one load can have", count=len(trays), most=MOST_TRAYS),
            )
        )
        trays = []
    place = TraySurroundings(dryer, freeze_to, held)
    items = []
    for number, tray in enumerate(trays, start=1):
        item = read_tray(tray, f"tray[{number}]", place, problems)
        if item is not None:
            items.append(replace(item, tray=number))
    overload = program_raw.get("overload", False)
    if not isinstance(overload, bool):
        words = msg("{value} is not possible; write true or false", value=as_written(overload))
        problems.append(InputError("program.overload", words))
    if not problems and not held:
        _fit(items, dryer, bool(overload), trays, problems)
    pressure, offset = _pressure(dryer_raw, held, program, problems)
    if problems:
        raise InputErrors(problems)
    return Load(
        title=str(raw["title"])[:200] if "title" in raw else msg("Untitled load"),
        dryer=dryer,
        profile=profile,
        items=tuple(items) if held else on_trays(items, trays, dryer),
        program=program,
        freeze_to=freeze_to,
        freezer=str(program_raw.get("freeze", FREEZERS[0])),
        pressure=pressure,
        upper_offset=offset,
        overload=bool(overload),
        notes=(*freezer_notes, *problems.notes),
    )


def _table(raw: Mapping[str, Any], name: str, problems: list[InputError]) -> Mapping[str, Any]:
    value = raw.get(name, {})
    if isinstance(value, Mapping):
        return value
    problems.append(InputError(name, msg("must be a table [{name}], not {value}", name=name, value=f"{value!r:.40}")))
    return {}


def _check_keys(raw: Mapping[str, Any], allowed: tuple[str, ...], prefix: str, problems: list[InputError]) -> None:
    for key in raw:
        if key not in allowed:
            near = nearest(str(key), allowed, 1)[0]
            problems.append(
                InputError(f"{prefix}{key}", msg("is not a known field; did you mean {near}?", near=f"'{near}'"))
            )


def _held(raw: Mapping[str, Any], problems: list[InputError]) -> bool:
    mode = raw.get("pressure_mode", "machine")
    if mode not in ("machine", "held"):
        wrong = as_written(mode).strip("'")
        words = msg("'{mode}' is not a pressure mode; write 'held', or leave it out for a real dryer", mode=wrong)
        problems.append(InputError("dryer.pressure_mode", words))
    return bool(mode == "held")


def _dryer(raw: Mapping[str, Any], problems: list[InputError]) -> tuple[Dryer, str]:
    _check_keys(raw, (*RUN_KEYS, *KINDS, *BARE, "words"), "dryer.", problems)
    numbers = {key: value for key, value in raw.items() if key in KINDS or key in BARE or key == "words"}
    profile = raw.get("profile")
    every = all(name in raw for name in (*KINDS, *BARE))
    try:
        base = dryer_profile(str(profile if profile is not None else DEFAULT_PROFILE)) if profile or not every else None
    except InputError as problem:
        problems.append(problem.under("dryer"))
        base, profile = dryer_profile(DEFAULT_PROFILE), DEFAULT_PROFILE
    if profile is None and not every and raw.get("pressure_mode") != "held":
        names = ", ".join(f"'{name}'" for name in profile_names())
        problems.append(
            InputError(
                "dryer.profile", msg("is missing; name one of {names}, or give every number of the dryer", names=names)
            )
        )
    try:
        return read_dryer(numbers, base), str(profile or "")
    except InputErrors as many:
        problems += [problem.under("dryer") for problem in many.problems]
        return dryer_profile(DEFAULT_PROFILE), DEFAULT_PROFILE


STEP = re.compile(r"^\s*(?P<shelf>.+?)\s+(?:for\s+(?P<time>.+?)|until\s+(?P<dry>dry))\s*$")


def _program(
    raw: Mapping[str, Any], held: bool, dryer_raw: Mapping[str, Any], dryer: Dryer, problems: list[InputError]
) -> tuple[ProgramStep, ...]:
    _check_keys(raw, PROGRAM_KEYS, "program.", problems)
    if held and "shelf_temperature" in dryer_raw:
        shelf = _temperature(dryer_raw["shelf_temperature"], "dryer.shelf_temperature", WARMEST, problems)
        return (ProgramStep(shelf, math.inf),)
    written = raw.get("shelf")
    if not isinstance(written, list) or not written:
        field = "dryer.shelf_temperature" if held else "program.shelf"
        words = (
            msg("is missing; write '30 degC'")
            if held
            else msg('is missing; write it as ["-10 degC for 2 h", "40 degC until dry"]')
        )
        problems.append(InputError(field, words))
        return (ProgramStep(ZERO_CELSIUS + 40, math.inf),)
    steps = []
    for number, text in enumerate(written, start=1):
        field = f"program.shelf[{number}]"
        parts = _step_parts(text)
        if parts is None:
            words = msg(
                "{text} is not a step; write '-10 degC for 2 h' or '40 degC until dry'", text=repr(str(text)[:40])
            )
            problems.append(InputError(field, words))
            continue
        shelf = _temperature(parts[0], field, dryer.shelf_highest, problems)
        duration = math.inf
        if (time := parts[1]) is not None:
            try:
                duration = si_of(time, "time", field)
                if not 0 < duration <= LONGEST:
                    words = msg("'{time}' is not possible; a step can last up to 20 days", time=str(time))
                    raise InputError(field, words)
            except InputError as problem:
                problems.append(problem)
        elif number < len(written):
            problems.append(InputError(field, msg("'until dry' must be the last step; nothing comes after it")))
        steps.append(ProgramStep(shelf, duration))
    return tuple(steps) or (ProgramStep(ZERO_CELSIUS + 40, math.inf),)


def _step_parts(written: object) -> tuple[str | SI, str | SI | None] | None:
    """Return the set-point and the time of a step, None for the time until dry; nothing where it is no step."""
    if isinstance(written, ProgramStep):
        time = None if written.duration == math.inf else SI(written.duration, "time")
        return SI(written.shelf, "temperature"), time
    match = STEP.match(written) if isinstance(written, str) and len(written) < 100 else None
    return (match["shelf"], match["time"]) if match else None


def _temperature(written: Any, field: str, highest: float, problems: list[InputError]) -> float:
    try:
        value = si_of(written, "temperature", field)
    except InputError as problem:
        problems.append(problem)
        return ZERO_CELSIUS
    if not COLDEST <= value <= highest:
        words = msg(
            "'{value}' is out of range for this shelf; write {coldest} to {highest}",
            value=str(written),
            coldest=quantity(COLDEST, "temperature"),
            highest=quantity(highest, "temperature"),
        )
        problems.append(InputError(field, words))
    return value


def _freezer(raw: Mapping[str, Any], dryer: Dryer, problems: list[InputError]) -> tuple[float, tuple[str, ...], Dryer]:
    before = len(problems)
    where = raw.get("freeze", "dryer")
    notes: tuple[str, ...] = ()
    if where not in FREEZERS:
        wrong = as_written(where).strip("'")
        words = msg("'{value}' is not possible; write 'dryer' or 'household freezer'", value=wrong)
        problems.append(InputError("program.freeze", words))
    if where == "household freezer":
        dryer = replace(
            dryer,
            freezer_temperature=HOUSEHOLD_FREEZER,
            freezer_base=dryer.freezer_air,
            freezer_power=HOUSEHOLD_FREEZER_POWER,
        )
        air = quantity(HOUSEHOLD_FREEZER, "temperature")
        words = msg(
            "frozen ahead in a household freezer at {air} in still air; its electricity is not counted", air=air
        )
        notes = (words,)
    freeze_to = default = dryer.freezer_temperature + (4.0 if where == "household freezer" else FREEZE_MARGIN)
    if "freeze_to" in raw:
        freeze_to = _temperature(raw["freeze_to"], "program.freeze_to", ZERO_CELSIUS - 5, problems)
        if len(problems) > before:
            freeze_to = default
        elif freeze_to < dryer.freezer_temperature + 0.5:
            words = msg(
                "'{value}' is colder than the freezer air at {air}, so the food never gets there; write a warmer one",
                value=str(raw["freeze_to"]),
                air=quantity(dryer.freezer_temperature, "temperature"),
            )
            problems.append(InputError("program.freeze_to", words))
            freeze_to = default
    return freeze_to, notes, dryer


def _fit(
    items: list[Any], dryer: Dryer, overload: bool, trays: list[dict[str, Any]], problems: list[InputError]
) -> None:
    shares = sum(min(written_area(tray, dryer), dryer.tray_area) / dryer.tray_area for tray in trays)
    if shares > dryer.trays * 1.001:
        words = msg(
            "the food covers {covered:.1f} trays, the dryer has {trays}; keep some for the next batch",
            covered=shares,
            trays=dryer.trays,
        )
        problems.append(InputError("tray", words))
    water = sum(item.water for item in items)
    if water > dryer.trap_capacity and not overload:
        words = msg(
            "the load holds {water} of water, but the cold trap only {ice} of ice. Load {share:.0%} "
            "less, or set program.overload = true to see when the trap is full",
            water=quantity(water, "mass"),
            ice=quantity(dryer.trap_capacity, "mass"),
            share=1 - dryer.trap_capacity / water,
        )
        problems.append(InputError("tray", words))


def _pressure(
    raw: Mapping[str, Any], held: bool, program: tuple[ProgramStep, ...], problems: list[InputError]
) -> tuple[float | None, float]:
    if not held:
        for name in ("chamber_pressure", "shelf_temperature", "upper_temperature"):
            if name in raw:
                words = msg('needs pressure_mode = "held"; add that or take this out')
                problems.append(InputError(f"dryer.{name}", words))
        return None, 0.0
    pressure, offset = 50.0, 0.0
    if "chamber_pressure" not in raw:
        problems.append(
            InputError("dryer.chamber_pressure", msg("is missing; a run at held pressure needs it, such as '50 Pa'"))
        )
    else:
        try:
            pressure = si_of(raw["chamber_pressure"], "pressure", "dryer.chamber_pressure")
            if not 0.1 <= pressure <= 600:
                values = {"value": str(raw["chamber_pressure"]), "allowed": between(0.1, 600, "pressure")}
                words = msg("'{value}' is not possible; ice turns to vapor at {allowed}", **values)
                raise InputError("dryer.chamber_pressure", words)
        except InputError as problem:
            problems.append(problem)
    if "upper_temperature" in raw:
        offset = _temperature(raw["upper_temperature"], "dryer.upper_temperature", WARMEST, problems) - program[0].shelf
    return pressure, offset
