"""The basket file: what waits to be dried, how it may be cut, in which dryer and by when."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drystow.drying.layer import SHAPES
from drystow.errors import InputError, InputErrors
from drystow.fields import Fields, Problems, new_names, read_toml
from drystow.foods.written import OWN_FOOD
from drystow.machine.item import PILE, TrayItem
from drystow.machine.load import LONGEST, Load
from drystow.machine.loadfile import MOST_TRAYS, parse_load
from drystow.machine.profile import Dryer
from drystow.machine.traytable import TraySurroundings, read_tray
from drystow.messages import msg
from drystow.planning.hours import number
from drystow.planning.separation import read_apart
from drystow.shown import quantity
from drystow.units import SI, parse

PAGE = "docs/basket-file.md"
MOST_FOODS = 20
MOST_SIZES = 8
FILE_KEYS = ("title", "time", "dryer", "program", "rules", "food")
RULE_KEYS = ("apart", "share_trays")
SIZE_KEYS = ("size", "sizes", "thinnest", "thickest")
TRAY_KEYS = ("food", *OWN_FOOD, "name", "shape", "faces", "start_temperature", "frozen", "final_moisture",
             "dried_layer")  # fmt: skip
FOOD_KEYS = (*TRAY_KEYS, *SIZE_KEYS, "mass", "must", "value")
STAND_IN = {
    "composition": {"water": 0.85, "carbohydrate": 0.14, "ash": 0.01},
    "name": "nothing",
    "raw_animal": False,
    "allergens": [],
    "mass": SI(1e-3, "mass"),
    "shape": "cube",
    "size": SI(5e-4, "length"),
    "frozen": True,
}  # in the load that carries dryer and program
LITTLE = SI(2e-4, "mass")  # of a food, to learn how dense it is


@dataclass(frozen=True)
class FoodRequest:
    """One food in the basket.

    name: of the food
    mass: what is there [kg]
    value: worth per kilogram; all equal means that the most food is wanted [1/kg]
    must: all of it has to go in
    full: one full place on a tray, per thickness that it may be cut to
    written: its fields for a load file
    """

    name: str
    mass: float
    value: float
    must: bool
    full: tuple[TrayItem, ...]
    written: Mapping[str, Any]


@dataclass(frozen=True)
class LoadRequest:
    """What a plan is made from.

    title: of the load
    time: from putting the food in to its end, wished for [s]
    frame: dryer and program; its food is a stand-in
    wishes: food in the basket
    rules: separation rules that hold
    share: foods that may lie side by side on one tray, 1 for none beside each other
    written: dryer and program for a load file
    notes: on how it is written
    """

    title: str
    time: float
    frame: Load
    wishes: tuple[FoodRequest, ...]
    rules: tuple[str, ...]
    share: int
    written: Mapping[str, Any]
    notes: tuple[str, ...] = ()

    @property
    def places(self) -> int:
        """Places on all trays, each for one food."""
        return self.frame.dryer.trays * self.share

    @property
    def place_area(self) -> float:
        """Area of one place [m2]."""
        return self.frame.dryer.tray_area / self.share


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
    _is_basket(raw)
    top = Fields(raw, "", FILE_KEYS, problems)
    rules = Fields(raw.get("rules", {}), "rules", RULE_KEYS, problems)
    time = top.required("time", "time", 3600.0, LONGEST, msg("the time you have, from 1 h to 20 days, such as '30 h'"))
    apart = read_apart(rules)
    share = rules.whole("share_trays", 1, 1, 3)
    written = {name: raw[name] for name in ("dryer", "program") if name in raw}
    frame = _frame(written, problems)
    foods = raw.get("food", [])
    if not isinstance(foods, list) or not foods or len(foods) > MOST_FOODS:
        words = msg("write 1 to {most} foods, each as [[food]] with food, mass, shape and sizes", most=MOST_FOODS)
        problems.append(InputError("food", words))
        foods = []
    if frame is None:
        raise InputErrors(problems)
    if frame.dryer.trays * share > MOST_TRAYS:
        words = msg(
            "{trays} tray places are more than the {most} one load can have",
            trays=share * frame.dryer.trays,
            most=MOST_TRAYS,
        )
        problems.append(InputError("rules.share_trays", words))
    area = frame.dryer.tray_area / share
    read = [_wish(one, f"food[{number}]", frame, area, problems) for number, one in enumerate(foods, start=1)]
    if problems:
        raise InputErrors(problems)
    return LoadRequest(
        title=top.text("title") or msg("Planned load"),
        time=time,
        frame=frame,
        wishes=tuple(wish for wish in read if wish is not None),
        rules=apart,
        share=share,
        written=written,
        notes=tuple(problems.notes),
    )


def _is_basket(raw: Mapping[str, Any]) -> None:
    if "food" not in raw and {"arrival", "lot"} & raw.keys():
        words = msg("this is a plan file, for many batches; plan them with 'drystow plan'")
        raise InputErrors([InputError("", words)])


def _frame(written: Mapping[str, Any], problems: list[InputError]) -> Load | None:
    """Return dryer and program with next to no food in them."""
    try:
        load = parse_load({**written, "tray": [STAND_IN]})
    except InputErrors as many:
        problems += many.problems
        return None
    if load.pressure is not None:
        words = msg("this needs a real dryer; take pressure_mode out")
        problems.append(InputError("dryer.pressure_mode", words))
    return load


def _wish(raw: object, prefix: str, frame: Load, area: float, problems: list[InputError]) -> FoodRequest | None:
    before = len(problems)
    fields = Fields(raw, prefix, FOOD_KEYS, problems)
    mass = fields.required("mass", "mass", 0.01, 500, msg("a weight from 10 g to 500 kg, such as '6 lb'"))
    shape = fields.choice("shape", SHAPES, "slab", msg("shape"))
    sizes = _sizes(fields)
    worth = number(fields, "value", 1.0, 0.0, 1e6, "money")
    must = fields.flag("must")
    if len(problems) > before:
        return None
    written = fields.part(TRAY_KEYS)
    place = TraySurroundings(frame.dryer, frame.freeze_to, False)
    full = []
    for size in sizes:
        if size > frame.dryer.rim_height * 1.001:
            words = msg(
                "{size} stands above the tray's rim of {rim}; cut it smaller",
                size=quantity(size, "length"),
                rim=quantity(frame.dryer.rim_height, "length"),
            )
            fields.problem("sizes" if fields.has("sizes") else "size", words)
            continue
        item = _full_place(
            {**written, "shape": shape, "size": SI(significant(size, 6), "length")}, prefix, place, area, problems
        )
        if item is None:
            break
        full.append(item)
    if len(problems) > before:
        return None
    return FoodRequest(full[0].food.name, mass, float(worth), must, tuple(full), {**new_names(written), "shape": shape})


def _full_place(
    table: dict[str, Any], prefix: str, place: TraySurroundings, area: float, problems: list[InputError]
) -> TrayItem | None:
    """Return as much of a food as one place on a tray holds: a slab of its thickness, or pieces up to the rim."""
    here = {**table, "area": SI(significant(area), "area")}
    little = read_tray({**here, "mass": LITTLE}, prefix, place, problems)
    if little is None:
        return None
    mass = holds(little, area, place.dryer)
    return read_tray({**here, "mass": SI(significant(mass), "mass")}, prefix, place, problems)


def significant(value: float, digits: int = 9) -> float:
    """Return a positive number to so many digits; what is behind them is noise, and equal places are to be equal.

    value: in any unit
    digits: that count

    >>> significant(0.1234567891234), significant(12.3456789, 6)
    (0.123456789, 12.3457)
    """
    return round(value, digits - 1 - math.floor(math.log10(value)))


def holds(item: TrayItem, area: float, dryer: Dryer) -> float:
    """Return how much of a food a tray area holds [kg].

    item: cut as it will be
    area: of the tray [m2]
    dryer: whose rim is not to be passed
    Source: household-day, pieces fill about 60% of a pile.
    """
    return item.density * area * (item.size if item.shape == "slab" else PILE * dryer.rim_height)


def one_layer(item: TrayItem, area: float) -> float:
    """Return how much of a food lies on a tray area in one layer [kg].

    item: cut as it will be
    area: of the tray [m2]
    Source: household-day, pieces fill about 60% of a pile.
    """
    return item.density * area * item.size * (1.0 if item.shape == "slab" else PILE)


def _sizes(fields: Fields) -> tuple[float, ...]:
    allowed = msg("a length from 0.2 mm to 200 mm, such as '10 mm'")
    if fields.has("sizes"):
        found = []
        for text in fields.texts("sizes", MOST_SIZES):
            try:
                size = parse(text, "length", f"{fields.prefix}.sizes")
                if not 2e-4 <= size <= 0.2:
                    raise InputError(
                        f"{fields.prefix}.sizes",
                        msg("'{value}' is out of range; write {allowed}", value=text, allowed=allowed),
                    )
                found.append(size)
            except InputError as problem:
                fields.problems.append(problem)
        if not found:
            fields.problem("sizes", msg("is empty; write {allowed}", allowed=allowed))
        return tuple(sorted(set(found)))
    if fields.has("thinnest", "thickest"):
        thin = fields.required("thinnest", "length", 2e-4, 0.2, allowed)
        thick = fields.required("thickest", "length", 2e-4, 0.2, allowed)
        if fields.has("thinnest") and fields.has("thickest") and thick < thin:
            fields.problem("thickest", msg("is thinner than thinnest; swap the two"))
            return (thin,)
        return _range(thin, thick)
    return (fields.required("size", "length", 2e-4, 0.2, allowed),)


def _range(thin: float, thick: float) -> tuple[float, ...]:
    """Return thicknesses from thin to thick, both among them, in steps of at least a millimetre."""
    count = min(MOST_SIZES, 1 + max(int((thick - thin) / 1e-3 + 1e-6), 1)) if thick > thin else 1
    steps = [thin + (thick - thin) * number / max(count - 1, 1) for number in range(count)]
    inner = [round(size, 3) for size in steps[1:-1]]
    return tuple(sorted({thin, *inner, thick}))
