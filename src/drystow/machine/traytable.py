"""One ``[[tray]]`` table of a load file -> one `TrayItem`."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.drying.layer import SHAPES, DriedLayer, layer_of_class, target_moisture
from drystow.errors import InputError
from drystow.fields import Fields
from drystow.foods.model import Food
from drystow.foods.written import OWN_FOOD, written_food
from drystow.machine.item import Areas, TrayItem, piece_areas, pile_height
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.properties import glass, sorption, thermal
from drystow.properties.ice import ice_fraction, initial_freezing_point
from drystow.properties.suitability import suitability
from drystow.shown import between, quantity
from drystow.units import si_of

KEYS = (
    "tray", "food", *OWN_FOOD, "name", "mass", "shape", "size", "faces", "area", "start_temperature", "frozen",
    "final_moisture", "ice_mass", "dried_layer", "heat", "areas",
)  # fmt: skip
LAYER_KEYS = {
    "R0": ("resistance", "r0", 0.0),
    "A1": ("resistance slope", "a1", 0.0),
    "A2": ("inverse length", "a2", 0.0),
    "conductivity": ("conductivity", "vacuum_conductivity", 1e-4),
}
HEAT_KEYS = ("contact", "above", "frozen_conductivity", "bulk_density", "ice_mass")
AREA_KEYS = ("outer", "contact", "above")
COOL = ZERO_CELSIUS + 4.0  # food from the refrigerator [K]
MASS = msg(
    "a weight above 0 and up to {most}, such as {example}",
    most=quantity(500, "mass", 0),
    example=quantity(0.8, "mass", 1),
)
LENGTH = msg(
    "a length of {allowed}, such as {example}",
    allowed=between(2e-4, 0.2, "length", 1),
    example=quantity(0.013, "length", 1, short=True),
)
MUCH_ICE = msg("above 0 to {most}", most=quantity(1000, "mass", 0))
WIDE = msg("above 0 to {most}", most=quantity(1000, "area", 0))
HOUSEHOLD_FREEZER = ZERO_CELSIUS - 18.0  # frozen food without a stated temperature [K]
LEAST_WATER = 0.05  # below it there is no ice worth drying [-]
DRY_TEMPERATURE = 300.0  # at which the dry solids' heat capacity is taken [K]


@dataclass(frozen=True)
class TraySurroundings:
    """What a tray item needs to know about the rest of the load.

    dryer: the machine
    freeze_to: core temperature that in-machine freezing reaches [K]
    held: pressure and shelf are held, geometry is taken as written
    """

    dryer: Dryer
    freeze_to: float
    held: bool


@dataclass(frozen=True)
class Cut:
    """How the food was cut and put on its tray.

    mass: fresh mass [kg]
    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    faces: faces of a slab that dry
    covered: tray area that it covers [m2]
    frozen: it goes in frozen
    start: temperature when it goes in [K]
    """

    mass: float
    shape: str
    size: float
    faces: int
    covered: float
    frozen: bool
    start: float


def read_tray(raw: object, prefix: str, place: TraySurroundings, problems: list[InputError]) -> TrayItem | None:
    """Return one tray item from its table, or None after noting every problem.

    raw: the table as read from TOML
    prefix: name of the table in error messages
    place: what the rest of the load fixes
    problems: list to which every problem is added
    """
    before = len(problems)
    tray = Fields(raw, prefix, KEYS, problems)
    tables = {
        name: Fields(tray.table.get(name, {}), f"{prefix}.{name}", known, problems)
        for name, known in (("dried_layer", LAYER_KEYS), ("heat", HEAT_KEYS), ("areas", AREA_KEYS))
    }
    food = _food(tray)
    cut = _cut(tray, place)
    if food is None or len(problems) > before:
        return None
    if food.composition.water < LEAST_WATER:
        tray.problem(
            "food",
            msg(
                "'{food}' holds only {water:.0%} water, no ice to dry; leave it out",
                food=food.name,
                water=food.composition.water,
            ),
        )
        return None
    item = _assemble(tray, tables, food, cut, place)
    if len(problems) > before:
        return None
    return item


def _food(tray: Fields) -> Food | None:
    if not tray.has("food", "composition"):
        tray.problem("food", msg("is missing; name a listed food or give [tray.composition]"))
        return None
    return written_food(tray)


def _cut(tray: Fields, place: TraySurroundings) -> Cut:
    if tray.has("tray"):
        tray.whole("tray", 1, 1, place.dryer.trays)
    faces = tray.whole("faces", 1, 1, 2)
    shape = tray.choice("shape", SHAPES, "slab", msg("shape"))
    frozen = tray.flag("frozen")
    return Cut(
        mass=tray.required("mass", "mass", 1e-4, 500, MASS),
        shape=shape,
        size=tray.required("size", "length", 2e-4, 0.2, LENGTH),
        faces=faces if shape == "slab" else 1,
        covered=tray.quantity("area", "area", place.dryer.tray_area, 1e-4, 20, between(1e-4, 20, "area")),
        frozen=frozen,
        start=tray.quantity(
            "start_temperature",
            "temperature",
            HOUSEHOLD_FREEZER if frozen else COOL,
            173.15,
            373.15,
            between(173.15, 373.15, "temperature"),
        ),
    )


def _assemble(tray: Fields, tables: dict[str, Fields], food: Food, cut: Cut, place: TraySurroundings) -> TrayItem:
    composition, heat = food.composition, tables["heat"]
    freezing_point = initial_freezing_point(composition, food.food_class, food.like)
    layer = _layer(tables["dried_layer"], layer_of_class(food.food_class))
    fresh = thermal.fresh_density(composition, layer.porosity)
    density = heat.quantity("bulk_density", "density", fresh, 20, 3000, msg("20 to 3000 kg/m^3"))
    cold = cut.start if cut.frozen or (place.held and cut.start < freezing_point) else place.freeze_to
    if cold >= freezing_point:
        words = msg(
            "frozen food must be below its freezing point of {temperature}",
            temperature=quantity(freezing_point, "temperature"),
        )
        tray.problem("start_temperature", words)
        cold = place.freeze_to
    own_ice = cut.mass * float(ice_fraction(composition, freezing_point, cold))
    ice = heat.quantity("ice_mass", "mass", own_ice, 1e-6, 1000, MUCH_ICE)
    limits = glass.collapse_limits(composition, food.food_class, food.like)
    conductivity = thermal.frozen_conductivity(composition, freezing_point, cold)
    item = TrayItem(
        food=food,
        mass=cut.mass,
        shape=cut.shape,
        size=cut.size,
        faces=cut.faces,
        areas=_areas(tables["areas"], cut, density),
        density=density,
        start_temperature=cut.start,
        frozen=cut.frozen or place.held,
        freezing_point=freezing_point,
        ice=tray.quantity("ice_mass", "mass", ice, 1e-6, 1000, MUCH_ICE),
        unfrozen=composition.water * cut.mass - own_ice,
        layer=layer,
        isotherm=sorption.isotherm_for(food),
        contact_fixed=_fixed(heat, "contact", 0.01),
        above_fixed=_fixed(heat, "above", 0.0),
        frozen_conductivity=heat.quantity(
            "frozen_conductivity", "conductivity", conductivity, 0.05, 5, msg("0.05 to 5 W/m/K")
        ),
        heat_capacity=float(thermal.heat_capacity(composition.with_water(0.0), DRY_TEMPERATURE)),
        limit=limits.collapse,
        target=tray.quantity(
            "final_moisture", "fraction", target_moisture(food.food_class), 0.001, 0.5, msg("0.1% to 50%")
        ),
        notes=(*suitability(food).cautions, *layer.notes, limits.basis),
    )
    notes = [] if place.held else _fit(tray, item, cut.covered, place.dryer)
    return replace(item, notes=(*item.notes, *notes))


def _areas(table: Fields, cut: Cut, density: float) -> Areas:
    default = piece_areas(cut.shape, cut.size, cut.faces, cut.mass, density, cut.covered)
    return Areas(
        outer=table.quantity("outer", "area", default.outer, 1e-6, 1000, WIDE),
        contact=table.quantity("contact", "area", default.contact, 0, 1000, between(0, 1000, "area", 0)),
        above=table.quantity("above", "area", default.above, 0, 1000, between(0, 1000, "area", 0)),
    )


def _fixed(heat: Fields, key: str, low: float) -> float | None:
    if not heat.has(key):
        return None
    return heat.quantity(key, "heat transfer", max(low, 1.0), low, 1e4, msg("{low:g} to 10000 W/m^2/K", low=low))


def _layer(table: Fields, default: DriedLayer) -> DriedLayer:
    changed: dict[str, Any] = {}
    for key, (kind, name, low) in LAYER_KEYS.items():
        if table.has(key):
            changed[name] = table.quantity(key, kind, 1.0, low, 1e15, msg("{low:g} or more", low=low))
    if "vacuum_conductivity" in changed:
        changed["gas_conductivity"] = 0.0
    if "a1" in changed and "a2" not in changed:
        changed["a2"] = 0.0
    notes = () if {"a1", "vacuum_conductivity"} <= set(changed) else default.notes
    return replace(default, notes=notes, **changed)


def _fit(tray: Fields, item: TrayItem, covered: float, dryer: Dryer) -> list[str]:
    if covered > dryer.tray_area * 1.001:
        words = msg(
            "is {area}, more than one tray's {tray}; use more trays",
            area=quantity(covered, "area"),
            tray=quantity(dryer.tray_area, "area"),
        )
        tray.problem("area", words)
        return []
    height = pile_height(item.shape, item.size, item.mass, item.density, covered)
    if height > dryer.rim_height * 1.001:
        room = item.mass * dryer.rim_height / height
        words = msg(
            "{mass} of '{food}' is {height} deep, above the tray's rim of {rim}; this tray holds about {room}",
            mass=quantity(item.mass, "mass"),
            food=item.food.name,
            height=quantity(height, "length"),
            rim=quantity(dryer.rim_height, "length"),
            room=quantity(room, "mass"),
        )
        tray.problem("mass", words)
        return []
    if item.shape == "slab" and not 0.75 < height / item.size < 1.33:
        return [
            msg(
                "spread over {area}, this food is {height} thick, not {size}; check weight, size or area",
                area=quantity(covered, "area"),
                height=quantity(height, "length"),
                size=quantity(item.size, "length"),
            )
        ]
    return []


def on_trays(items: list[TrayItem], written: list[dict[str, Any]], dryer: Dryer) -> tuple[TrayItem, ...]:
    """Return the items with the numbers of their trays: as written, else the next tray with room for what it covers;
    where no such tray is left, the one with most room, so that no number is above the dryer's trays.

    items: read from their tables
    written: the tables
    dryer: the machine
    """
    whole = dryer.tray_area
    areas = [min(written_area(raw, dryer), whole) for raw in written]
    free = [whole] * dryer.trays
    for raw, area in zip(written, areas, strict=True):
        if "tray" in raw:
            free[raw["tray"] - 1] -= area
    here, placed = 0, []
    for item, raw, area in zip(items, written, areas, strict=True):
        number = raw.get("tray", 0) - 1
        if number < 0:
            while here < len(free) - 1 and free[here] + 0.001 * whole < area:
                here += 1
            number = here if free[here] + 0.001 * whole >= area else max(range(len(free)), key=free.__getitem__)
            free[number] -= area
        placed.append(replace(item, tray=number + 1))
    return tuple(placed)


def written_area(raw: Mapping[str, Any], dryer: Dryer) -> float:
    """Return what a tray item is written to cover, else a whole tray [m2].

    raw: its table
    dryer: the machine
    Source: definition, food without an area covers its tray.
    """
    return si_of(raw["area"], "area", "area") if "area" in raw else dryer.tray_area
