"""A food as people write it in a TOML table: its name or its composition, what it is like, and its marks.

Every file that holds food reads it with `written_food` and writes it with `food_fields`; so no format loses a mark.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from drystow.errors import InputError
from drystow.fields import Fields
from drystow.foods import table
from drystow.foods.marks import NOT_STATED, UNKNOWN, in_order, known_allergens
from drystow.foods.model import FOOD_CLASSES, PARTS, Composition, Food
from drystow.said import listed, say

FRACTIONS = (*PARTS, "sugars", "salt")
COMPOSITION_FIELDS = (*FRACTIONS, "water_sd")
MARKS = ("raw_animal", "allergens")
OWN_FOOD = ("composition", "like", *MARKS)
"""Fields that describe a food beside its name."""

MOST_ALLERGENS = 40


def written_food(fields: Fields, key: str = "food", *, own: Iterable[Food] = ()) -> Food | None:
    """Return the food that a table names or describes, with its marks, or None after noting its problems.

    A written composition is a food of one's own. A food of the table may get further marks, and is then a food of
    one's own too; a mark that the table has cannot be taken away.

    fields: the table
    key: its field with the name of the food
    own: foods of the user, by name
    """
    before = len(fields.problems)
    like, raw, allergens = _like(fields), _raw(fields), _allergens(fields)
    if fields.has("composition"):
        parts = Fields(fields.table["composition"], f"{fields.prefix}.composition", COMPOSITION_FIELDS, fields.problems)
        composition = written_composition(parts)
        name = fields.text("name") or fields.text(key) or say("own food")
        if composition is None or len(fields.problems) > before:
            return None
        return Food(
            id=f"own:{name}",
            name=name,
            food_class=like or "dish",
            composition=composition,
            raw_animal=raw,
            allergens=UNKNOWN if allergens is None else allergens,
            own=True,
            source="own-measurement",
        )
    name = fields.text(key) if len(fields.problems) == before else ""
    if not name:
        return None
    try:
        food = table.get(name, own=own)
    except InputError as problem:
        fields.problem(key, problem.message)
        return None
    food = replace(food, food_class=like) if like else food
    return _marked(fields, food, raw, allergens)


def food_fields(food: Food, key: str = "food") -> dict[str, Any]:
    """Return the fields that write a food in any file: the id of one of the table, all of one's own.

    food: what it is
    key: field with the name of the food
    """
    if not food.own:
        return {key: food.id}
    table: dict[str, Any] = {
        key: str(food.name),
        "composition": {part: getattr(food.composition, part) for part in COMPOSITION_FIELDS},
        "like": food.food_class,
    }
    if food.raw_animal is not None:
        table["raw_animal"] = food.raw_animal
    if food.allergens != UNKNOWN:
        table["allergens"] = list(food.allergens)
    return table


def _like(fields: Fields) -> str | None:
    return fields.choice("like", FOOD_CLASSES, "dish", say("food class")) if fields.has("like") else None


def _raw(fields: Fields) -> bool | None:
    return fields.flag("raw_animal") if fields.has("raw_animal") else None


def _allergens(fields: Fields) -> tuple[str, ...] | None:
    if not fields.has("allergens"):
        return None
    names = [" ".join(name.split()) for name in fields.texts("allergens", MOST_ALLERGENS)]
    if not all(names):
        fields.problem("allergens", say("one of them is blank; write allergens = [] when there are none"))
    return in_order(name.lower() for name in names if name)


def _marked(fields: Fields, food: Food, raw: bool | None, allergens: tuple[str, ...] | None) -> Food | None:
    """Return a food that is known by its name with the marks that a file adds to it."""
    before = len(fields.problems)
    if raw is False and food.raw_animal is True:
        words = say(
            "'{food}' is raw animal food, and a file can't change that; name the cooked food, or enter its composition",
            food=food.name,
        )
        fields.problem("raw_animal", words)
    gone = [name for name in known_allergens(food.allergens) if allergens is not None and name not in allergens]
    if gone and allergens is not None and NOT_STATED not in allergens:
        words = say(
            "'{food}' contains {allergens}, and a file can't change that; add it to the list, or "
            "enter the composition of your own food",
            food=food.name,
            allergens=listed(say(name) for name in gone),
        )
        fields.problem("allergens", words)
    if len(fields.problems) > before:
        return None
    all_of_them = food.allergens if allergens is None else in_order({*known_allergens(food.allergens), *allergens})
    stated = food.raw_animal if raw is None else raw
    if (stated, all_of_them) == (food.raw_animal, food.allergens):
        return food
    return replace(food, id=f"own:{food.name}", own=True, raw_animal=stated, allergens=all_of_them)


def written_composition(parts: Fields) -> Composition | None:
    """Return the composition written in a table of mass fractions, or None after noting its problems.

    parts: the table; what is missing to the whole counts as carbohydrate when no carbohydrate is written
    """
    if not parts.readable:
        return None
    before = len(parts.problems)
    values = {
        part: parts.quantity(part, "fraction", 0.0, 0.0, 1.0, say("0 to 100%"))
        for part in COMPOSITION_FIELDS
        if parts.has(part)
    }
    if "water" not in values:
        parts.problem("water", say("the water is missing; write water = 0.85 or '85%'"))
    if len(parts.problems) > before:
        return None
    rest = 1.0 - sum(values.get(part, 0.0) for part in PARTS)
    if "carbohydrate" not in values and rest > 0.0:
        values["carbohydrate"] = rest
    if values.get("sugars", 0.0) > values.get("carbohydrate", 0.0) + 1e-9:
        carbohydrate = values.get("carbohydrate", 0.0)
        parts.problem(
            "sugars",
            say(
                "is more than all the carbohydrate ({carbohydrate:.3g}), and sugars are part of it",
                carbohydrate=carbohydrate,
            ),
        )
        return None
    try:
        return Composition(**values)
    except InputError as error:
        whole = error.field == "composition"
        parts.problems.append(InputError(parts.prefix, error.message) if whole else error.under(parts.prefix))
        return None
