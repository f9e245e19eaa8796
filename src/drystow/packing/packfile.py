"""PACK.toml: what is packed, into what, where it is stored. docs/pack-file.md describes every field."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, InputErrors
from drystow.fields import Fields, Problems, read_toml, toml_table
from drystow.foods.model import Composition, Food
from drystow.foods.written import OWN_FOOD, written_food
from drystow.messages import msg
from drystow.packing.containers import Container, container, containers, custom, materials
from drystow.packing.seasons import StoreSeason, constant
from drystow.ranges import DAY, RANGES, YEAR

PAGE = "docs/pack-file.md"

FILE = (
    "title", "dry_mass", "fresh_mass", "residual_moisture", "form", "size", "bulk_density", "altitude", "temperature",
    "air_left", "margin", "keep_for", "packed_on", "lot", "food", "container", "storage", "label",
)  # fmt: skip
FOOD = ("name", *OWN_FOOD)
CUSTOM = ("name", "material", "volume", "area", "oxygen_per_day", "vapour")
PACKAGE = ("dry_mass", "form", "kind", "count", *CUSTOM)
CRUMBS = 5e-4
"""Less than half a gram is nothing [kg]."""
SEASON = ("duration", "temperature", "humidity")


@dataclass(frozen=True)
class PackSpec:
    """One batch to be packed.

    title: of the batch
    food: what it is
    dry_mass: dried food [kg]
    residual_moisture: water in the dried food, wet basis [-]
    moisture_given: the residual moisture was written, not assumed
    powder: powder instead of pieces
    size: thickness or diameter of the pieces [m]
    bulk_density: of the dried food, loosely filled, or None for a default [kg/m3]
    altitude: of the kitchen [m]
    temperature: while packing [K]
    air_left: air left inside over room air, 1 without a vacuum [-]
    margin: factor on the oxygen for the absorbers [-]
    keep_for: how long the package should keep [s]
    packed_on: day of packing, or None
    lot: lot code
    container: chosen container, or None to let the program choose
    count: number of containers, 0 for as few as hold the batch
    seasons: of the store, in order from the day of packing
    label_notes: further lines for the label
    notes: on how it is written
    absorbers: oxygen absorbers go in, or are in, where they are of use
    """

    title: str
    food: Food
    dry_mass: float
    residual_moisture: float
    moisture_given: bool
    powder: bool
    size: float
    bulk_density: float | None
    altitude: float
    temperature: float
    air_left: float
    margin: float
    keep_for: float
    packed_on: date | None
    lot: str
    container: Container | None
    count: int
    seasons: tuple[StoreSeason, ...]
    label_notes: tuple[str, ...]
    notes: tuple[str, ...] = ()
    absorbers: bool = True


def read_pack(path: Path, own: tuple[Food, ...] = ()) -> PackSpec:
    """Return the batch of a PACK.toml file, or raise what is wrong with it: `InputErrors` names every problem.

    path: of the file
    own: foods of the user
    """
    return _pack(read_toml(path, PAGE), own)


@dataclass(frozen=True)
class Packs:
    """All packages of a batch.

    packs: one for each kind of package
    left: dried food that goes into none of them [kg]
    """

    packs: tuple[PackSpec, ...]
    left: float = 0.0


def read_packs(path: Path, own: tuple[Food, ...] = ()) -> Packs:
    """Return the packages of a PACK.toml file, one kind or several, or raise what is wrong: `InputErrors` names it all.

    path: of the file
    own: foods of the user
    """
    raw = read_toml(path, PAGE)
    rows = raw.pop("package", None)
    batch = _pack(raw, own)
    return Packs((batch,)) if rows is None else _parts(batch, rows, "container" in raw)


def _parts(batch: PackSpec, rows: Any, other: bool) -> Packs:
    problems = Problems()
    if other:
        problems.append(InputError("container", msg("give either [container] or [[package]] tables, not both")))
    if not isinstance(rows, list) or not 1 <= len(rows) <= 20 or not all(isinstance(row, dict) for row in rows):
        problems.append(InputError("package", msg("write one to twenty [[package]] tables")))
        raise InputErrors(problems)
    tables = [
        Fields(row, f"package[{number}]", PACKAGE, problems, RANGES["container"]) for number, row in enumerate(rows, 1)
    ]
    usual = "powder" if batch.powder else "pieces"
    parts = []
    for table in tables:
        box, count = _box(table)
        mass = table.quantity("dry_mass", 0.0)
        powder = table.choice("form", ("pieces", "powder"), usual, msg("form")) == "powder"
        parts.append(replace(batch, container=box, count=count, dry_mass=mass, powder=powder))
    rest = [number for number, table in enumerate(tables) if not table.has("dry_mass")]
    left = batch.dry_mass - sum(part.dry_mass for part in parts)
    if len(rest) > 1:
        words = msg("only one [[package]] may leave out its dry_mass; it takes the rest")
        problems.append(InputError(f"package[{rest[1] + 1}].dry_mass", words))
    elif left < -CRUMBS or (rest and left <= CRUMBS):
        total = msg("{grams:.6g} g", grams=sum(part.dry_mass for part in parts) * 1000)
        words = msg("the packages hold {total}, but only {grams:.6g} g was dried; write less, or correct "
"dry_mass",
                    total=total, grams=batch.dry_mass * 1000)  # fmt: skip
        problems.append(InputError("package", words))
    if problems:
        raise InputErrors(problems)
    if rest:
        parts[rest[0]], left = replace(parts[rest[0]], dry_mass=left), 0.0
    return Packs(tuple(parts), left if left > CRUMBS else 0.0)


def parse_pack(text: str, own: tuple[Food, ...] = ()) -> PackSpec:
    """Return the batch written in TOML, or raise what is wrong with it: `InputErrors` names every problem.

    text: of the file
    own: foods of the user
    """
    return _pack(toml_table(text, PAGE), own)


def _pack(raw: dict[str, Any], own: tuple[Food, ...]) -> PackSpec:
    problems = Problems()
    fields = Fields(raw, "", FILE, problems, RANGES["pack"] | RANGES["fresh"])
    food = _food(fields, own)
    moisture = fields.quantity("residual_moisture", 0.03)
    dry_mass = _dry_mass(fields, food, moisture)
    box, count = _container(fields)
    seasons = _seasons(fields)
    pack = PackSpec(
        title=fields.text("title", msg("Untitled batch")),
        food=food or _PLACEHOLDER,
        dry_mass=dry_mass,
        residual_moisture=moisture,
        moisture_given=fields.has("residual_moisture"),
        powder=fields.choice("form", ("pieces", "powder"), "pieces", msg("form")) == "powder",
        size=fields.quantity("size", 0.01),
        bulk_density=fields.quantity("bulk_density", 0.0) or None,
        altitude=fields.quantity("altitude", 0.0),
        temperature=fields.quantity("temperature", 294.15),
        air_left=fields.quantity("air_left", 1.0),
        margin=1 + fields.quantity("margin", 0.25),
        keep_for=fields.quantity("keep_for", 5 * YEAR),
        packed_on=fields.day("packed_on"),
        lot=fields.text("lot"),
        container=box,
        count=count,
        seasons=seasons,
        label_notes=Fields(raw.get("label", {}), "label", ("notes",), problems).texts("notes", 10),
    )
    if problems:
        raise InputErrors(problems)
    return replace(pack, notes=tuple(problems.notes))


_PLACEHOLDER = Food("none", "none", "dish", Composition(water=0.5, carbohydrate=0.5))


def _food(fields: Fields, own: tuple[Food, ...]) -> Food | None:
    if not fields.has("food"):
        fields.problem("food", msg('the food is missing; write [food] and under it name = "Strawberries, raw"'))
        return None
    before = len(fields.problems)
    table = Fields(fields.table["food"], "food", FOOD, fields.problems)
    if not table.table and len(fields.problems) > before:
        return None
    if not table.text("name") and len(fields.problems) == before:
        table.problem("name", msg('the name is missing; write for example name = "Strawberries, raw"'))
    return written_food(table, "name", own=own)


def _dry_mass(fields: Fields, food: Food | None, moisture: float) -> float:
    if fields.has("dry_mass") == fields.has("fresh_mass"):
        fields.problem("dry_mass", msg('write either dry_mass or fresh_mass, for example dry_mass = "240 g"'))
        return 1.0
    if fields.has("dry_mass"):
        return fields.quantity("dry_mass", 1.0)
    fresh = fields.quantity("fresh_mass", 1.0)
    if food is None:
        return fresh
    if food.composition.water < moisture:
        fields.problem(
            "fresh_mass", msg("'{food}' is already as dry as the dried food; write dry_mass instead", food=food.name)
        )
        return fresh
    return fresh * (1 - food.composition.water) / (1 - moisture)


def _container(fields: Fields) -> tuple[Container | None, int]:
    if not fields.has("container"):
        return None, 0
    return _box(
        Fields(fields.table["container"], "container", ("kind", "count", *CUSTOM), fields.problems, RANGES["container"])
    )


def _box(table: Fields) -> tuple[Container | None, int]:
    count = table.whole("count", 0)
    if table.has("kind"):
        if table.has(*CUSTOM):
            table.problem("kind", msg("give either a kind or your own numbers (material, volume, area), not both"))
        try:
            return container(table.text("kind")), count
        except InputError as error:
            table.problems.append(error)
            return None, count
    if not table.has(*CUSTOM):
        table.problem("kind", msg("the kind is missing; kinds are {kinds}", kinds=", ".join(containers())))
        return None, count
    for key in ("material", "volume", "area"):
        if not table.has(key):
            table.problem(key, msg("this is needed for your own container; or name a kind from the list instead"))
    wall = materials()[table.choice("material", materials(), "clear", msg("material"))]
    volume = table.quantity("volume", 1e-3)
    area = table.quantity("area", 0.1)
    leak = table.quantity("oxygen_per_day", 0.0) / DAY
    vapour = table.quantity("vapour", -1.0)
    name = table.text("name", msg("own container"))
    return custom(name, wall, volume, area, leak, None if vapour < 0 else vapour), count


def _seasons(fields: Fields) -> tuple[StoreSeason, ...]:
    usual = constant(21 + ZERO_CELSIUS, 0.5)
    if not fields.has("storage"):
        return usual
    table = Fields(
        fields.table["storage"], "storage", ("temperature", "humidity", "season"), fields.problems, RANGES["storage"]
    )
    if not table.has("season"):
        _, temperature, humidity = _season(table)
        return constant(temperature, humidity)
    rows = table.table["season"]
    if table.has("temperature", "humidity"):
        table.problem("season", msg("give either seasons or one temperature and humidity, not both"))
    if not isinstance(rows, list) or not 1 <= len(rows) <= 12:
        table.problem("season", msg("write one to twelve [[storage.season]] tables"))
        return usual
    seasons = []
    for number, row in enumerate(rows):
        part = Fields(row, f"storage.season[{number}]", SEASON, fields.problems, RANGES["storage"])
        seasons.append(StoreSeason(*_season(part)))
    return tuple(seasons)


def _season(table: Fields) -> tuple[float, float, float]:
    return (
        table.quantity("duration", YEAR / 4),
        table.quantity("temperature", 294.15),
        table.quantity("humidity", 0.5),
    )
