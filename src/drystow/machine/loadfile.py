"""The load file, a notation of a `LoadSpec`: read with every problem named, and written.

docs/load-file.md describes every field."""

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from drystow.drying.layer import SHAPES
from drystow.errors import InputError, InputErrors, nearest
from drystow.fields import Fields, Problems, read_toml
from drystow.foods.written import OWN_FOOD, food_fields, written_food
from drystow.machine.load import (
    FREEZERS,
    AreaSpec,
    HeatSpec,
    Held,
    LayerSpec,
    Load,
    LoadSpec,
    ProgramStep,
    RigSpec,
    TraySpec,
)
from drystow.machine.loading import DEFAULT_PROFILE, MOST_TRAYS, USUAL_SHELF, load_of
from drystow.machine.pieces import PACKINGS, SURFACES, WRAPPERS
from drystow.machine.profile import dryer_profile, numbers_in_notation, profile_names, read_numbers
from drystow.messages import msg
from drystow.properties.skin import SKIN_STATES
from drystow.ranges import RANGES, Range, in_notation
from drystow.units import as_written, parse

PAGE = "docs/load-file.md"
HELD = ("chamber_pressure", "shelf_temperature", "upper_temperature", "surroundings", "air_pressure")
RUN_KEYS = ("profile", "pressure_mode", *HELD)
PROGRAM_KEYS = ("shelf", "freeze", "freeze_to", "overload")
PARTS: dict[str, Any] = {"dried_layer": LayerSpec, "heat": HeatSpec, "areas": AreaSpec}
"""Table of a tray -> its spec."""

CUT_KEYS = ("width", "length", "faces", "packing", "on", "wrapper", "opening")
"""How food is cut and laid, beside its shape and size."""

TRAY_KEYS = (
    "tray", "food", *OWN_FOOD, "name", "mass", "shape", "size", *CUT_KEYS, "wrapper_mass", "area",
    "start_temperature", "frozen", "final_moisture", "ice_mass", "skin_state", *PARTS,
)  # fmt: skip
STEP = re.compile(r"^\s*(?P<shelf>.+?)\s+(?:for\s+(?P<time>.+?)|until\s+(?P<dry>dry))\s*$")
HARMLESS = ProgramStep(RANGES["program"]["shelf"].low, 3600.0)  # in place of one that cannot be read


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
    return load_of(load_spec(raw, problems), problems)


def load_spec(raw: Mapping[str, Any], problems: Problems) -> LoadSpec:
    """Return what a table asks for; something harmless where there are problems.

    raw: the table as read from TOML
    problems: to which every problem is added
    """
    _check_keys(raw, ("title", "dryer", "program", "tray"), "", problems)
    rig = rig_spec(raw, problems)
    rows = raw.get("tray", [])
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        words = msg("there is no food; add at least one [[tray]] with food, mass, shape and size")
        problems.append(InputError("tray", words))
        rows = []
    if len(rows) > MOST_TRAYS:
        words = msg("{count} items are more than the {most} one load can have", count=len(rows), most=MOST_TRAYS)
        problems.append(InputError("tray", words))
        rows = []
    profile = rig.profile if rig.profile in profile_names() else DEFAULT_PROFILE
    trays = Range("", 1, rig.numbers.get("trays", dryer_profile(profile).trays))
    read = [
        tray_spec(Fields(row, f"tray[{number}]", TRAY_KEYS, problems, RANGES["tray"]), trays)
        for number, row in enumerate(rows, start=1)
    ]
    title = str(raw["title"])[:200] if "title" in raw else LoadSpec.title
    return LoadSpec(rig, tuple(one for one in read if one is not None), title)


def rig_spec(raw: Mapping[str, Any], problems: Problems) -> RigSpec:
    """Return the dryer and the program that a table asks for; something harmless where there are problems.

    raw: with the tables ``dryer`` and ``program``
    problems: to which every problem is added
    """
    before = len(problems)
    dryer, program = _table(raw, "dryer", problems), _table(raw, "program", problems)
    if len(problems) > before:
        return RigSpec(DEFAULT_PROFILE, shelf=(ProgramStep(USUAL_SHELF, math.inf),))
    held = _held(dryer, problems)
    _check_keys(dryer, (*RUN_KEYS, *RANGES["dryer"], "words"), "dryer.", problems)
    try:
        numbers = read_numbers({key: dryer[key] for key in (*RANGES["dryer"], "words") if key in dryer})
    except InputErrors as many:
        problems += [problem.under("dryer") for problem in many.problems]
        numbers = {}
    _check_keys(program, PROGRAM_KEYS, "program.", problems)
    freeze, overload = program.get("freeze", FREEZERS[0]), program.get("overload", False)
    if not isinstance(overload, bool):
        words = msg("{value} is not possible; write true or false", value=as_written(overload))
        problems.append(InputError("program.overload", words))
    return RigSpec(
        profile=str(dryer.get("profile", DEFAULT_PROFILE if len(problems) > before else "")),
        numbers=numbers,
        shelf=_steps(program.get("shelf"), problems),
        freeze=freeze if isinstance(freeze, str) else as_written(freeze),
        freeze_to=_quantity(program, "program.freeze_to", RANGES["program"]["freeze_to"], problems),
        held=held,
        overload=overload is True,
    )


def _table(raw: Mapping[str, Any], name: str, problems: Problems) -> Mapping[str, Any]:
    value = raw.get(name, {})
    if isinstance(value, Mapping):
        return value
    problems.append(InputError(name, msg("must be a table [{name}], not {value}", name=name, value=f"{value!r:.40}")))
    return {}


def _check_keys(raw: Mapping[str, Any], allowed: tuple[str, ...], prefix: str, problems: Problems) -> None:
    for key in raw:
        if key not in allowed:
            near = nearest(str(key), allowed, 1)[0]
            words = msg("is not a known field; did you mean {near}?", near=f"'{near}'")
            problems.append(InputError(f"{prefix}{key}", words))


def _held(dryer: Mapping[str, Any], problems: Problems) -> Held | None:
    mode = dryer.get("pressure_mode", "machine")
    if mode not in ("machine", "held"):
        wrong = as_written(mode).strip("'")
        words = msg("'{mode}' is not a pressure mode; write 'held', or leave it out for a real dryer", mode=wrong)
        problems.append(InputError("dryer.pressure_mode", words))
    if mode == "held":
        ranges = RANGES["held"]
        return Held(*(_quantity(dryer, f"dryer.{name}", ranges[name], problems, ranges[name].high) for name in HELD))
    for name in HELD:
        if name in dryer:
            words = msg('needs pressure_mode = "held"; add that or take this out')
            problems.append(InputError(f"dryer.{name}", words))
    return None


def _quantity(
    table: Mapping[str, Any], field: str, allowed: Range, problems: Problems, otherwise: float | None = None
) -> float | None:
    """Return a quantity that the engine checks, since what is allowed of it depends on the dryer.

    otherwise: stands for one that cannot be read
    """
    key = field.rpartition(".")[2]
    if key not in table:
        return None
    try:
        value = parse(table[key], allowed.kind, field)
    except InputError as problem:
        problems.append(problem)
        return otherwise
    problems.written[field] = str(table[key])
    return value


def _steps(written: object, problems: Problems) -> tuple[ProgramStep, ...]:
    if not isinstance(written, list):
        return ()
    return tuple(_step(text, f"program.shelf[{number}]", problems) for number, text in enumerate(written, start=1))


def _step(written: object, field: str, problems: Problems) -> ProgramStep:
    match = STEP.match(written) if isinstance(written, str) and len(written) < 100 else None
    if match is None:
        words = msg(
            "{text} is not a step; write '-10 degC for 2 h' or '40 degC until dry'", text=repr(str(written)[:40])
        )
        problems.append(InputError(field, words))
        return HARMLESS
    shelf, duration = HARMLESS.shelf, math.inf
    try:
        shelf = parse(match["shelf"], "temperature", field)
        problems.written[field] = match["shelf"]
    except InputError as problem:
        problems.append(problem)
    try:
        duration = parse(match["time"], "time", field) if match["time"] else math.inf
        problems.written[f"{field} time"] = match["time"] or ""
    except InputError as problem:
        problems.append(problem)
        duration = HARMLESS.duration
    return ProgramStep(shelf, duration)


def tray_spec(tray: Fields, trays: Range) -> TraySpec | None:
    """Return the food on a tray that a table asks for, or None after adding every problem.

    tray: the table
    trays: numbers that a tray can have
    """
    before = len(tray.problems)
    parts = {name: _part(tray, name) for name in PARTS}
    if not tray.has("food", "composition"):
        tray.problem("food", msg("is missing; name a listed food or give [tray.composition]"))
    food = written_food(tray) if tray.has("food", "composition") else None
    cut = cut_fields(tray)
    mass, size = tray.required("mass"), tray.required("size")
    number, area, ice = tray.whole("tray", None, trays), tray.quantity("area", None), tray.quantity("ice_mass", None)
    if food is None or len(tray.problems) > before:
        return None
    name = str(tray.table.get("name", ""))[:200]
    return TraySpec(food, mass, size, area=area, ice_mass=ice, tray=number, name=name, **cut, **parts)


def cut_fields(tray: Fields) -> dict[str, Any]:
    """Return what a table says of how food is cut and loaded, by the fields of a `TraySpec`.

    tray: the table, which may be that of another file
    """
    values: dict[str, Any] = {
        "shape": tray.choice("shape", SHAPES, "slab", msg("shape")),
        "faces": tray.whole("faces", None, Range("", 1, 2)),
        "packing": tray.choice("packing", PACKINGS, "apart", msg("packing")) if tray.has("packing") else None,
        "on": tray.choice("on", SURFACES, SURFACES[0], msg("surface")),
        "wrapper": tray.choice("wrapper", WRAPPERS, WRAPPERS[0], msg("wrapper")),
        **{name: tray.quantity(name, None) for name in ("width", "length", "opening", "wrapper_mass")},
        "start_temperature": tray.quantity("start_temperature", None),
        "final_moisture": tray.quantity("final_moisture", None),
        "frozen": tray.flag("frozen"),
    }
    if tray.has("skin_state"):
        values["skin_state"] = tray.choice("skin_state", SKIN_STATES, SKIN_STATES[0], msg("state of a skin"))
    return values


def layer_fields(tray: Fields) -> LayerSpec:
    """Return what a table says of the dried layer.

    tray: the table, which may be that of another file
    """
    layer: LayerSpec = _part(tray, "dried_layer")
    return layer


def _part(tray: Fields, name: str) -> Any:
    ranges = RANGES[f"tray.{name}"]
    part = Fields(tray.table.get(name, {}), f"{tray.prefix}.{name}", ranges, tray.problems, ranges)
    return PARTS[name](**{key: part.quantity(key, None) for key in ranges})


def load_table(spec: LoadSpec) -> dict[str, Any]:
    """Return a load as the table of a load file.

    spec: what is asked for
    """
    return {"title": str(spec.title), **rig_tables(spec.rig)} | {"tray": [tray_table(tray) for tray in spec.trays]}


def rig_tables(spec: RigSpec) -> dict[str, Any]:
    """Return a dryer and its program as the tables of a file.

    spec: dryer and program
    """
    dryer: dict[str, Any] = ({"profile": spec.profile} if spec.profile else {}) | numbers_in_notation(spec.numbers)
    if spec.held is not None:
        dryer |= {"pressure_mode": "held"} | in_notation(spec.held, RANGES["held"])
    program: dict[str, Any] = {"freeze": spec.freeze} if spec.freeze != RigSpec.freeze else {}
    program["shelf"] = [str(step) for step in spec.shelf]
    if spec.freeze_to is not None:
        program["freeze_to"] = in_notation(spec, {"freeze_to": RANGES["program"]["freeze_to"]})["freeze_to"]
    return {"dryer": dryer, "program": program | ({"overload": True} if spec.overload else {})}


def tray_table(spec: TraySpec) -> dict[str, Any]:
    """Return the food on a tray as the table of a load file.

    spec: what is asked for
    """
    table: dict[str, Any] = {"name": spec.name} if spec.name else {}
    table |= {"tray": spec.tray} if spec.tray is not None else {}
    table |= food_fields(spec.food, "name" if spec.food.own else "food")
    if not spec.food.own and not spec.name:
        table["food"] = spec.food.name
    return table | cut_table(spec)


def cut_table(spec: TraySpec) -> dict[str, Any]:
    """Return how food is cut and loaded as a file writes it, without what is usual.

    spec: what is asked for
    """
    table: dict[str, Any] = {"shape": spec.shape}
    table |= {
        name: getattr(spec, name)
        for name in ("faces", "packing", "on", "wrapper", "frozen", "skin_state")
        if getattr(spec, name) != getattr(TraySpec, name)
    }
    table |= in_notation(spec, RANGES["tray"])
    parts = {part: in_notation(getattr(spec, part), RANGES[f"tray.{part}"]) for part in PARTS}
    return table | {part: values for part, values in parts.items() if values}
