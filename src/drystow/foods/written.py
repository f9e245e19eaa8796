"""A food as people write it in a TOML table: its name or its composition, what it is like, and its marks.

Its name is for people: where `like` is missing a hint is read from it here, once, and a note says so. Every file that
holds food reads it with `written_food` and writes it with `food_fields`; so no format loses a mark.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from drystow.errors import InputError
from drystow.fields import Fields
from drystow.foods import classify, table
from drystow.foods.classify import MOST_KINDS, hinted, read_like, written_like
from drystow.foods.marks import NOT_STATED, UNKNOWN, in_order, known_allergens
from drystow.foods.model import PARTS, Composition, Food
from drystow.foods.usual_parts import UNTOLD_SUGARS, with_usual_sugars
from drystow.messages import listed, msg
from drystow.ranges import RANGES

FRACTIONS = (*PARTS, "sugars", "sugars_sd", "salt")
COMPOSITION_FIELDS = (*FRACTIONS, "water_sd")
MARKS = ("raw_animal", "allergens", "skin")
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
    like, allergens = _like(fields), _allergens(fields)
    raw, skin = (fields.flag(mark) if fields.has(mark) else None for mark in ("raw_animal", "skin"))
    if fields.has("composition"):
        prefix, ranges = f"{fields.prefix}.composition", RANGES["composition"]
        parts = Fields(fields.table["composition"], prefix, COMPOSITION_FIELDS, fields.problems, ranges)
        composition = written_composition(parts)
        name = fields.text("name") or fields.text(key) or msg("own food")
        if composition is None or len(fields.problems) > before:
            return None
        food_class, kinds = like or _hinted(fields, name)
        if not parts.has("sugars"):
            composition = _usual_sugars(fields, name, composition, food_class, kinds)
        return Food(
            id=f"own:{name}",
            name=name,
            food_class=food_class,
            composition=composition,
            like=kinds,
            raw_animal=raw,
            allergens=UNKNOWN if allergens is None else allergens,
            skin=skin,
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
    food = replace(food, food_class=like[0], like=like[1]) if like else food
    return _marked(fields, food, raw, allergens, skin)


def food_fields(food: Food, key: str = "food") -> dict[str, Any]:
    """Return the fields that write a food in any file: the id of one of the table, all that is known of one's own.

    food: what it is
    key: field with the name of the food
    """
    like = written_like(food.food_class, food.like)
    if not food.own:
        listed_so = table.get(food.id)
        return {key: food.id} | ({} if like == written_like(listed_so.food_class, listed_so.like) else {"like": like})
    fields: dict[str, Any] = {
        key: str(food.name),
        "composition": {part: getattr(food.composition, part) for part in COMPOSITION_FIELDS},
        "like": like,
    }
    if food.raw_animal is not None:
        fields["raw_animal"] = food.raw_animal
    if food.allergens != UNKNOWN:
        fields["allergens"] = list(food.allergens)
    if food.skin is not None:
        fields["skin"] = food.skin
    return fields


def _like(fields: Fields) -> tuple[str, tuple[str, ...]] | None:
    if not fields.has("like"):
        return None
    before = len(fields.problems)
    listed_so = isinstance(fields.table["like"], list)
    words = fields.texts("like", MOST_KINDS) if listed_so else fields.text("like").split(",")
    if len(fields.problems) > before:
        return None
    try:
        return read_like([" ".join(word.lower().split()) for word in words])
    except InputError as problem:
        fields.problem("like", problem.message)
        return None


def _hinted(fields: Fields, name: str) -> tuple[str, tuple[str, ...]]:
    """Return what a food is like when the file does not say it: a dish, the careful choice, and what its name hints."""
    kinds, nearer = hinted(name, "dish"), classify.food_class(name)
    taken = written_like("dish", kinds)
    fields.note(msg("No 'like' is written for '{food}', so it counts as {like}.", food=name, like=taken))
    if nearer != "dish":
        closer = written_like(nearer, hinted(name, nearer))
        fields.note(msg("For '{food}' this may fit better: like = {like}.", food=name, like=f'"{closer}"'))
    return "dish", kinds


def _usual_sugars(
    fields: Fields, name: str, composition: Composition, food_class: str, kinds: tuple[str, ...]
) -> Composition:
    """Return a composition that says nothing of sugars with the usual ones: nobody measured them, there may be many."""
    found = with_usual_sugars(composition, food_class, kinds)
    if found.sugars_sd > UNTOLD_SUGARS:
        fields.note(
            msg(
                "No 'sugars' are written for '{food}', so they count as {sugars:.1%}, give or take {spread:.1%}.",
                food=name,
                sugars=found.sugars,
                spread=found.sugars_sd,
            )
        )
    return found


def _allergens(fields: Fields) -> tuple[str, ...] | None:
    if not fields.has("allergens"):
        return None
    names = [" ".join(name.split()) for name in fields.texts("allergens", MOST_ALLERGENS)]
    if not all(names):
        fields.problem("allergens", msg("one of them is blank; write allergens = [] when there are none"))
    return in_order(name.lower() for name in names if name)


def _marked(
    fields: Fields, food: Food, raw: bool | None, allergens: tuple[str, ...] | None, skin: bool | None
) -> Food | None:
    """Return a food that is known by its name with the marks that a file adds to it."""
    before = len(fields.problems)
    if raw is False and food.raw_animal is True:
        words = msg(
            "'{food}' is raw animal food, and a file can't change that; name the cooked food, or enter its composition",
            food=food.name,
        )
        fields.problem("raw_animal", words)
    gone = [name for name in known_allergens(food.allergens) if allergens is not None and name not in allergens]
    if gone and allergens is not None and NOT_STATED not in allergens:
        words = msg(
            "'{food}' contains {allergens}, and a file can't change that; add it to the list, or "
            "enter the composition of your own food",
            food=food.name,
            allergens=listed(msg(name) for name in gone),
        )
        fields.problem("allergens", words)
    if len(fields.problems) > before:
        return None
    all_of_them = food.allergens if allergens is None else in_order({*known_allergens(food.allergens), *allergens})
    stated = food.raw_animal if raw is None else raw
    whole_skin = food.skin if skin is None else skin
    if (stated, all_of_them, whole_skin) == (food.raw_animal, food.allergens, food.skin):
        return food
    return replace(food, id=f"own:{food.name}", own=True, raw_animal=stated, allergens=all_of_them, skin=whole_skin)


def written_composition(parts: Fields) -> Composition | None:
    """Return the composition written in a table of mass fractions, or None after noting its problems.

    parts: the table; what is missing to the whole counts as carbohydrate when no carbohydrate is written
    """
    if not parts.readable:
        return None
    before = len(parts.problems)
    values = {part: parts.quantity(part, 0.0) for part in COMPOSITION_FIELDS if parts.has(part)}
    if "water" not in values:
        parts.problem("water", msg("the water is missing; write water = 0.85 or '85%'"))
    if len(parts.problems) > before:
        return None
    rest = 1.0 - sum(values.get(part, 0.0) for part in PARTS)
    if "carbohydrate" not in values and rest > 0.0:
        values["carbohydrate"] = rest
    if values.get("sugars", 0.0) > values.get("carbohydrate", 0.0) + 1e-9:
        carbohydrate = values.get("carbohydrate", 0.0)
        parts.problem(
            "sugars",
            msg(
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
