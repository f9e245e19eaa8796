"""One ``[[tray]]`` table of a load file -> one `TrayItem`."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.drying.layer import SHAPES, DriedLayer, layer_of_class
from drystow.drying.targets import target_moisture
from drystow.errors import InputError, InputErrors, nearest, unknown
from drystow.foods import table
from drystow.foods.model import FOOD_CLASSES, PARTS, Composition, Food
from drystow.machine.item import Areas, TrayItem, piece_areas, pile_height
from drystow.machine.profile import Dryer
from drystow.properties import glass, sorption, thermal
from drystow.properties.ice import ice_fraction, initial_freezing_point
from drystow.properties.suitability import suitability
from drystow.units import both, parse

KEYS = (
    "food", "composition", "class", "name", "mass", "shape", "size", "faces", "area", "start_temperature", "frozen",
    "final_moisture", "ice_mass", "dried_layer", "heat", "areas",
)  # fmt: skip
LAYER_KEYS = {
    "R0": ("resistance", "r0"),
    "A1": ("resistance slope", "a1"),
    "A2": ("inverse length", "a2"),
    "conductivity": ("conductivity", "vacuum_conductivity"),
}
HEAT_KEYS = {
    "contact": "heat transfer",
    "above": "heat transfer",
    "frozen_conductivity": "conductivity",
    "bulk_density": "density",
    "ice_mass": "mass",
}
COOL = ZERO_CELSIUS + 4.0  # food from the refrigerator [K]
HOUSEHOLD_FREEZER = ZERO_CELSIUS - 18.0  # frozen food without a stated temperature [K]
DRY_TEMPERATURE = 300.0  # at which the dry solids' heat capacity is taken [K]


@dataclass(frozen=True)
class Place:
    """What a tray item needs to know about the rest of the load.

    dryer: the machine
    freeze_to: core temperature that in-machine freezing reaches [K]
    held: pressure and shelf are held, geometry is taken as written
    """

    dryer: Dryer
    freeze_to: float
    held: bool


class Reader:
    """Reads written quantities of one table and collects every problem instead of stopping at the first."""

    def __init__(self, raw: Mapping[str, Any]) -> None:
        self.raw = raw
        self.problems: list[InputError] = []

    def number(
        self, name: str, kind: str, low: float, high: float, default: float | None, allowed: str, table: str = ""
    ) -> float:
        """Return a quantity in SI inside its bounds; note a problem and return something harmless otherwise."""
        source = self.raw.get(table, {}) if table else self.raw
        field = f"{table}.{name}" if table else name
        fallback = default if default is not None else max(low, 1e-6)
        if not isinstance(source, Mapping) or name not in source:
            if default is None:
                self.problems.append(InputError(field, f"is missing; write it as {allowed}"))
            return fallback
        try:
            value = parse(source[name], kind, field)
        except InputError as problem:
            self.problems.append(problem)
            return fallback
        if not low <= value <= high:
            self.problems.append(InputError(field, f"'{source[name]}' is not possible; allowed is {allowed}"))
            return fallback
        return value

    def attempt(self, action: Callable[[], Any], prefix: str = "") -> Any:
        """Return what `action` returns, or None after noting its problems."""
        try:
            return action()
        except InputErrors as many:
            self.problems += [problem.under(prefix) if prefix else problem for problem in many.problems]
        except InputError as problem:
            self.problems.append(problem.under(prefix) if prefix else problem)
        return None

    def check_keys(self, allowed: tuple[str, ...], table: str = "") -> None:
        """Note every key that is not allowed, with the nearest allowed one."""
        source = self.raw.get(table, {}) if table else self.raw
        if not isinstance(source, Mapping):
            self.problems.append(InputError(table, f"must be a table [tray.{table}], not {source!r:.40}"))
            return
        for key in source:
            if key not in allowed:
                near = nearest(str(key), allowed, 1)[0]
                field = f"{table}.{key}" if table else str(key)
                self.problems.append(InputError(field, f"is not a known field; did you mean '{near}'?"))


def read_tray(raw: Mapping[str, Any], place: Place) -> TrayItem:
    """Return one tray item from its table.

    raw: the table as read from TOML
    place: what the rest of the load fixes
    """
    reader = Reader(raw)
    reader.check_keys(KEYS)
    for name, keys in (
        ("dried_layer", tuple(LAYER_KEYS)),
        ("heat", tuple(HEAT_KEYS)),
        ("areas", ("outer", "contact", "above")),
        ("composition", (*PARTS, "sugars", "salt")),
    ):
        reader.check_keys(keys, name)
    if reader.problems:
        raise InputErrors(reader.problems)
    food = reader.attempt(lambda: _food(raw))
    mass = reader.number("mass", "mass", 1e-4, 500, None, "a mass above 0 and up to 500 kg, such as '1.8 lb'")
    shape = str(raw.get("shape", "slab"))
    if shape not in SHAPES:
        reader.problems.append(unknown("shape", shape, SHAPES, "shape"))
        shape = "slab"
    size = reader.number("size", "length", 2e-4, 0.2, None, "a length from 0.2 mm to 200 mm, such as '13 mm'")
    faces = raw.get("faces", 1)
    if faces not in (1, 2) or isinstance(faces, bool):
        reader.problems.append(InputError("faces", f"{faces!r} is not possible; a slab dries from 1 or 2 faces"))
        faces = 1
    covered = reader.number("area", "area", 1e-4, 20, place.dryer.tray_area, "an area such as '0.15 m^2'")
    frozen = raw.get("frozen", False)
    if not isinstance(frozen, bool):
        reader.problems.append(InputError("frozen", f"{frozen!r} is not possible; write true or false"))
        frozen = False
    start = reader.number(
        "start_temperature", "temperature", 173.15, 373.15, HOUSEHOLD_FREEZER if frozen else COOL, "-100 to 100 °C"
    )
    if reader.problems or food is None:
        raise InputErrors(reader.problems)
    return _assemble(reader, food, mass, shape, size, int(faces), covered, bool(frozen), start, place)


def _assemble(
    reader: Reader,
    food: Food,
    mass: float,
    shape: str,
    size: float,
    faces: int,
    covered: float,
    frozen: bool,
    start: float,
    place: Place,
) -> TrayItem:
    composition = food.composition
    if composition.water < 0.05:
        words = f"'{food.name}' holds only {composition.water:.0%} water, so there is no ice to dry; leave it out"
        raise InputErrors([InputError("food", words)])
    freezing_point = initial_freezing_point(composition, food.food_class, food.name)
    layer = _layer(reader, layer_of_class(food.food_class))
    density = reader.number(
        "bulk_density",
        "density",
        20,
        3000,
        thermal.fresh_density(composition, layer.porosity),
        "20 to 3000 kg/m^3",
        "heat",
    )
    cold = start if frozen or (place.held and start < freezing_point) else place.freeze_to
    if cold >= freezing_point:
        words = f"frozen food must be below its freezing point of {both(freezing_point, 'temperature')}"
        reader.problems.append(InputError("start_temperature", words))
        raise InputErrors(reader.problems)
    share = float(ice_fraction(composition, freezing_point, cold))
    ice_default = mass * share
    ice = reader.number("ice_mass", "mass", 1e-6, 1000, ice_default, "a mass above 0", "heat")
    ice = reader.number("ice_mass", "mass", 1e-6, 1000, ice, "a mass above 0")
    areas = piece_areas(shape, size, faces, mass, density, covered)
    areas = Areas(
        outer=reader.number("outer", "area", 1e-6, 1000, areas.outer, "an area such as '0.5 m^2'", "areas"),
        contact=reader.number("contact", "area", 0, 1000, areas.contact, "an area such as '0.15 m^2'", "areas"),
        above=reader.number("above", "area", 0, 1000, areas.above, "an area such as '0.25 m^2'", "areas"),
    )
    target = reader.number(
        "final_moisture", "fraction", 0.001, 0.5, target_moisture(food.food_class), "0.1 % to 50 %, such as '3 %'"
    )
    heat = reader.raw.get("heat", {})
    limits = glass.collapse_limits(composition, food.food_class, food.name)
    item = TrayItem(
        food=food,
        mass=mass,
        shape=shape,
        size=size,
        faces=faces if shape == "slab" else 1,
        areas=areas,
        density=density,
        start_temperature=start,
        frozen=frozen or place.held,
        freezing_point=freezing_point,
        ice=ice,
        unfrozen=composition.water * mass - ice_default,
        layer=layer,
        isotherm=sorption.isotherm_for(food),
        contact_fixed=reader.number("contact", "heat transfer", 0.01, 1e4, 1.0, "0.01 to 10000 W/m^2/K", "heat")
        if "contact" in heat
        else None,
        above_fixed=reader.number("above", "heat transfer", 0, 1e4, 0.0, "0 to 10000 W/m^2/K", "heat")
        if "above" in heat
        else None,
        frozen_conductivity=reader.number(
            "frozen_conductivity",
            "conductivity",
            0.05,
            5,
            thermal.frozen_conductivity(composition, freezing_point, cold),
            "0.05 to 5 W/m/K",
            "heat",
        ),
        heat_capacity=_dry_heat_capacity(composition),
        limit=limits.collapse,
        target=target,
        notes=(*suitability(food).cautions, *layer.notes, limits.basis),
    )
    notes = [] if place.held else _fit(reader, item, covered, place.dryer)
    if reader.problems:
        raise InputErrors(reader.problems)
    return replace(item, notes=(*item.notes, *notes))


def _fit(reader: Reader, item: TrayItem, covered: float, dryer: Dryer) -> list[str]:
    if covered > dryer.tray_area * 1.001:
        words = f"is {covered:.3f} m², more than one tray of {dryer.tray_area:.3f} m²; use more trays"
        reader.problems.append(InputError("area", words))
        return []
    height = pile_height(item.shape, item.size, item.mass, item.density, covered)
    if height > dryer.rim_height * 1.001:
        room = item.mass * dryer.rim_height / height
        words = (
            f"{both(item.mass, 'mass')} of '{item.food.name}' stands {both(height, 'length')} high, above the tray's"
            f" rim of {both(dryer.rim_height, 'length')}; this tray holds about {both(room, 'mass')}"
        )
        reader.problems.append(InputError("mass", words))
        return []
    if item.shape == "slab" and not 0.75 < height / item.size < 1.33:
        return [
            f"spread over {covered:.3f} m² this food is {both(height, 'length')} thick, not the"
            f" {both(item.size, 'length')} written; check mass, size or area"
        ]
    return []


def _layer(reader: Reader, default: DriedLayer) -> DriedLayer:
    raw = reader.raw.get("dried_layer", {})
    changed: dict[str, Any] = {}
    for key, (kind, name) in LAYER_KEYS.items():
        if key in raw:
            changed[name] = reader.number(key, kind, 0, 1e15, 0.0, "a number from 0", "dried_layer")
    if "vacuum_conductivity" in changed:
        if changed["vacuum_conductivity"] <= 0:
            reader.problems.append(InputError("dried_layer.conductivity", "must be above 0, such as '0.03 W/m/K'"))
        changed["gas_conductivity"] = 0.0
    if "a1" in changed and "a2" not in changed:
        changed["a2"] = 0.0
    notes = () if {"a1", "vacuum_conductivity"} <= set(changed) else default.notes
    return replace(default, notes=notes, **changed)


def _food(raw: Mapping[str, Any]) -> Food:
    own_class = raw.get("class")
    if own_class is not None and own_class not in FOOD_CLASSES:
        raise unknown("class", str(own_class), FOOD_CLASSES, "food class")
    if "composition" in raw:
        written = {name: parse(value, "fraction", f"composition.{name}") for name, value in raw["composition"].items()}
        if "water" not in written:
            raise InputError("composition.water", "is missing; write the water fraction, such as 0.85 or '85 %'")
        rest = 1.0 - sum(written.get(part, 0.0) for part in PARTS)
        if "carbohydrate" not in written and rest > 0:
            written["carbohydrate"] = rest
        try:
            composition = Composition(**written)
        except InputError as problem:
            raise (problem if problem.field == "composition" else problem.under("composition")) from None
        name = str(raw.get("name", raw.get("food", "own food")))
        return Food("own", name, own_class or "dish", composition, own=True, source="definition")
    if "food" not in raw:
        raise InputError("food", "is missing; name a food of the table or give [tray.composition]")
    food = table.get(str(raw["food"]))
    return replace(food, food_class=own_class) if own_class else food


def _dry_heat_capacity(composition: Composition) -> float:
    return float(thermal.heat_capacity(composition.with_water(0.0), DRY_TEMPERATURE))
