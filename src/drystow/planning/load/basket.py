"""What waits to be dried, how it may be cut, in which dryer and by when; and the basket file, a notation of it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from drystow.errors import InputError, InputErrors
from drystow.fields import Fields, Problems, read_toml
from drystow.foods.written import OWN_FOOD, written_food
from drystow.machine import pieces
from drystow.machine.cutting import cut_of, fresh_density_of
from drystow.machine.item import TrayItem
from drystow.machine.load import Rig, RigSpec, TraySpec
from drystow.machine.loadfile import CUT_KEYS, cut_fields, layer_fields, rig_spec
from drystow.machine.loading import MOST_TRAYS, rig_of, tray_item
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.planning.separation import read_apart
from drystow.ranges import CUT, RANGES, Range, check
from drystow.shown import quantity
from drystow.units import parse

PAGE = "docs/basket-file.md"
MOST_FOODS = 20
MOST_SIZES = 8
FILE_KEYS = ("title", "time", "dryer", "program", "rules", "food")
RULE_KEYS = ("apart", "share_trays")
SIZE_KEYS = ("size", "sizes", "thinnest", "thickest")
TRAY_KEYS = ("food", *OWN_FOOD, "name", "shape", *CUT_KEYS, "start_temperature", "frozen", "final_moisture",
             "skin_state", "dried_layer")  # fmt: skip
FOOD_KEYS = (*TRAY_KEYS, *SIZE_KEYS, "mass", "must", "value")
WHOLE = 1e-4  # in place of an amount that is yet to be found [kg]


@dataclass(frozen=True)
class WishSpec:
    """One food in the basket, as it is asked for.

    tray: the food and how it is loaded; its amount and its thickness are to be found
    mass: what is there [kg]
    sizes: thicknesses that it may be cut to, from thin to thick [m]
    value: worth per kilogram [1/kg]
    must: all of it has to go in
    """

    tray: TraySpec
    mass: float
    sizes: tuple[float, ...]
    value: float = 1.0
    must: bool = False


@dataclass(frozen=True)
class BasketSpec:
    """What a load is to be found for, as it is asked for.

    time: from putting the food in to its end, wished for [s]
    rig: dryer and program
    wishes: food in the basket
    rules: separation rules that hold
    share: foods that may lie side by side on one tray, 1 for none beside each other
    title: of the load
    """

    time: float
    rig: RigSpec
    wishes: tuple[WishSpec, ...]
    rules: tuple[str, ...]
    share: int = 1
    title: str = msg("Planned load")


@dataclass(frozen=True)
class FoodRequest:
    """One food in the basket.

    spec: as it is asked for
    full: one full place on a tray, per thickness that it may be cut to
    """

    spec: WishSpec
    full: tuple[TrayItem, ...]

    @property
    def name(self) -> str:
        """What the food is called."""
        return self.spec.tray.name or self.spec.tray.food.name

    @property
    def mass(self) -> float:
        """What is there [kg]."""
        return self.spec.mass

    @property
    def value(self) -> float:
        """Worth per kilogram; all equal means that the most food is wanted [1/kg]."""
        return self.spec.value

    @property
    def must(self) -> bool:
        """All of it has to go in."""
        return self.spec.must


@dataclass(frozen=True)
class LoadRequest:
    """What a load is found from.

    spec: as it is asked for
    rig: dryer and program
    wishes: food in the basket
    notes: on how it is written
    """

    spec: BasketSpec
    rig: Rig
    wishes: tuple[FoodRequest, ...]
    notes: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """Title of the load."""
        return self.spec.title

    @property
    def time(self) -> float:
        """Time from putting the food in to its end, wished for [s]."""
        return self.spec.time

    @property
    def rules(self) -> tuple[str, ...]:
        """Separation rules that hold."""
        return self.spec.rules

    @property
    def share(self) -> int:
        """Foods that may lie side by side on one tray, 1 for none beside each other."""
        return self.spec.share

    @property
    def places(self) -> int:
        """Places on all trays, each for one food."""
        return self.rig.dryer.trays * self.share

    @property
    def place_area(self) -> float:
        """Area of one place [m2]."""
        return self.rig.dryer.tray_area / self.share


def read_basket(path: Path) -> LoadRequest:
    """Return what is in the basket, or raise `InputErrors` with every problem.

    path: of a BASKET.toml file
    """
    return parse_basket(read_toml(path, PAGE))


def parse_basket(raw: Mapping[str, Any]) -> LoadRequest:
    """Return what is in the basket, or raise `InputErrors` with every problem.

    raw: the table as read from TOML
    """
    problems = Problems()
    return request_of(basket_spec(raw, problems), problems)


def request_of(spec: BasketSpec, problems: Problems | None = None) -> LoadRequest:
    """Return what a load is found from; raises `InputErrors` with every problem found.

    spec: what is asked for
    problems: that were found in reading it
    """
    problems = Problems() if problems is None else problems
    check(spec, RANGES["basket"], "", problems)
    before = len(problems)
    rig = rig_of(spec.rig, problems)
    if rig.held:
        problems.append(InputError("dryer.pressure_mode", msg("this needs a real dryer; take pressure_mode out")))
    if rig.dryer.trays * spec.share > MOST_TRAYS:
        words = msg(
            "{trays} tray places are more than the {most} one load can have",
            trays=spec.share * rig.dryer.trays,
            most=MOST_TRAYS,
        )
        problems.append(InputError("rules.share_trays", words))
    area, wishes = rig.dryer.tray_area / spec.share, spec.wishes if len(problems) == before else ()
    found = [_request(wish, f"food[{at}]", rig, area, problems) for at, wish in enumerate(wishes, start=1)]
    if problems:
        raise InputErrors(problems)
    return LoadRequest(spec, rig, tuple(found), tuple(problems.notes))


def _request(wish: WishSpec, prefix: str, rig: Rig, area: float, problems: Problems) -> FoodRequest:
    before = len(problems)
    check(wish, {name: RANGES["basket.food"][name] for name in ("mass", "value")}, prefix, problems)
    full = []
    for size in wish.sizes:
        if size > rig.dryer.rim_height * 1.001:
            words = msg(
                "{size} stands above the tray's rim of {rim}; cut it smaller",
                size=quantity(size, "length"),
                rim=quantity(rig.dryer.rim_height, "length"),
            )
            field = f"{prefix}.sizes"
            problems.append(InputError(field if field in problems.written else f"{prefix}.size", words))
        elif len(problems) == before:
            item = full_place(replace(wish.tray, size=significant(size, 6)), prefix, rig, area, problems)
            full += [item] if item is not None else []
    return FoodRequest(wish, tuple(full))


def full_place(spec: TraySpec, prefix: str, rig: Rig, area: float, problems: Problems) -> TrayItem | None:
    """Return as much of a food as one place on a tray holds: a slab of its thickness, or pieces up to the rim.

    spec: the food and its cut; its amount does not count
    prefix: its name in problems
    rig: dryer and program
    area: of the place [m2]
    problems: to which every problem is added
    """
    mass = significant(holds(spec, area, rig.dryer))
    return tray_item(replace(spec, mass=mass, area=None), prefix, rig, problems, significant(area))


def significant(value: float, digits: int = 9) -> float:
    """Return a positive number to so many digits; what is behind them is noise, and equal places are to be equal.

    value: in any unit
    digits: that count

    >>> significant(0.1234567891234), significant(12.3456789, 6)
    (0.123456789, 12.3457)
    """
    return round(value, digits - 1 - math.floor(math.log10(value)))


def holds(spec: TraySpec, area: float, dryer: Dryer) -> float:
    """Return how much of a food a tray area holds [kg].

    spec: the food, cut as it will be
    area: of the tray [m2]
    dryer: whose rim is not to be passed
    Source: household-day, as `pieces.holds`.
    """
    return pieces.holds(cut_of(spec), fresh_density_of(spec), area, dryer.rim_height)


def one_layer(item: TrayItem, area: float) -> float:
    """Return how much of a food lies on a tray area in one layer [kg].

    item: cut as it will be
    area: of the tray [m2]
    Source: definition, as `pieces.one_layer`.
    """
    return pieces.one_layer(item.cut, item.density, area)


def basket_spec(raw: Mapping[str, Any], problems: Problems) -> BasketSpec:
    """Return what a table asks for; something harmless where there are problems.

    raw: the table as read from TOML
    problems: to which every problem is added
    """
    if "food" not in raw and {"arrival", "lot"} & raw.keys():
        words = msg("this is a plan file, for many batches; plan them with 'drystow plan'")
        raise InputErrors([InputError("", words)])
    top = Fields(raw, "", FILE_KEYS, problems, RANGES["basket"])
    rules = Fields(raw.get("rules", {}), "rules", RULE_KEYS, problems)
    foods = raw.get("food", [])
    if not isinstance(foods, list) or not foods or len(foods) > MOST_FOODS:
        words = msg("write 1 to {most} foods, each as [[food]] with food, mass, shape and sizes", most=MOST_FOODS)
        problems.append(InputError("food", words))
        foods = []
    ranges = RANGES["tray"] | RANGES["basket.food"]
    read = [
        _wish(Fields(food, f"food[{number}]", FOOD_KEYS, problems, ranges))
        for number, food in enumerate(foods, start=1)
    ]
    return BasketSpec(
        time=top.required("time"),
        rig=rig_spec(raw, problems),
        wishes=tuple(wish for wish in read if wish is not None),
        rules=read_apart(rules),
        share=rules.whole("share_trays", 1, Range("", 1, 3)),
        title=top.text("title") or BasketSpec.title,
    )


def _wish(fields: Fields) -> WishSpec | None:
    before = len(fields.problems)
    layer, cut = layer_fields(fields), cut_fields(fields)
    mass, sizes = fields.required("mass"), _sizes(fields)
    value, must = fields.number("value", 1.0), fields.flag("must")
    if not fields.has("food", "composition"):
        fields.problem("food", msg("is missing; name a listed food or give [tray.composition]"))
    food = written_food(fields) if fields.has("food", "composition") else None
    if food is None or len(fields.problems) > before:
        return None
    return WishSpec(TraySpec(food, WHOLE, sizes[0], dried_layer=layer, **cut), mass, sizes, value, must)


def _sizes(fields: Fields) -> tuple[float, ...]:
    if fields.has("sizes"):
        found = []
        field = f"{fields.prefix}.sizes"
        for text in fields.texts("sizes", MOST_SIZES):
            fields.problems.written[field] = text
            try:
                size = parse(text, "length", field)
                if not CUT.holds(size):
                    raise CUT.problem(field, text)
                found.append(size)
            except InputError as problem:
                fields.problems.append(problem)
        if not found:
            fields.problem("sizes", msg("is empty; write {allowed}", allowed=CUT.allowed))
        return tuple(sorted(set(found)))
    if fields.has("thinnest", "thickest"):
        thin, thick = fields.required("thinnest"), fields.required("thickest")
        if fields.has("thinnest") and fields.has("thickest") and thick < thin:
            fields.problem("thickest", msg("is thinner than thinnest; swap the two"))
            return (thin,)
        return sizes_between(thin, thick)
    return (fields.required("size"),)


def sizes_between(thin: float, thick: float) -> tuple[float, ...]:
    """Return thicknesses from thin to thick, both among them, in steps of at least a millimetre [m].

    thin: the least [m]
    thick: the most [m]
    Source: definition.
    """
    count = min(MOST_SIZES, 1 + max(int((thick - thin) / 1e-3 + 1e-6), 1)) if thick > thin else 1
    steps = [thin + (thick - thin) * number / max(count - 1, 1) for number in range(count)]
    inner = [round(size, 3) for size in steps[1:-1]]
    return tuple(sorted({thin, *inner, thick}))
