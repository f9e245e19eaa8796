"""What a food's name and group hint at, read once when it comes in: its class, what it is like, raw, allergens."""

import re
import tomllib
from collections.abc import Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from drystow.errors import InputError, unknown
from drystow.foods.kinds import class_rows, in_order, of_kind, relative_rows, table_of
from drystow.messages import msg

ALLERGENS = ("milk", "egg", "fish", "shellfish", "tree nuts", "peanut", "wheat", "soy", "sesame")
"""The nine major food allergens of US law; shellfish means crustaceans. Source: us-allergens."""

ANIMAL = ("meat", "fish", "egg")


@cache
def _rules() -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / "classify.toml").read_text(encoding="utf-8"))


@cache
def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE)


def food_class(name: str, category: str = "") -> str:
    """Return the class of a food, one of ``FOOD_CLASSES``.

    name: as in the table, the kind of food first (``Carrots, raw``)
    category: group name in the source table, or nothing

    >>> food_class("Blueberries, raw"), food_class("Stew, beef")
    ('fruit', 'dish')
    """
    rules = _rules()
    for rule, text in [(rule, category) for rule in rules["group"]] + [(rule, name) for rule in rules["rule"]]:
        wanted = rule.get("group", rule.get("name"))
        if _pattern(wanted).search(text) and not ("not" in rule and _pattern(rule["not"]).search(name)):
            return str(rule["class"])
    return str(rules["groups"].get(category, "dish"))


def allergens(name: str, kind: str) -> tuple[str, ...]:
    """Return the major allergens that a name and a class point to; a person must confirm them.

    name: name of the food
    kind: its class, one of ``FOOD_CLASSES``

    >>> allergens("Egg noodles, cooked", "starchy"), allergens("Peanut butter", "fat")
    (('egg', 'wheat'), ('peanut',))
    """
    found = []
    for rule in _rules()["allergen"]:
        rest = _pattern(rule["except"]).sub(" ", name)
        plant = _pattern(r"\b(soy|almond|coconut|plant-based|non-?dairy|vegan|tofu)\b").search(name)
        by_class = kind in rule.get("classes", ()) and not plant
        if by_class or _pattern(rule["words"]).search(rest):
            found.append(str(rule["name"]))
    return tuple(found)


def is_raw_animal(name: str, kind: str, as_eaten: bool = False) -> bool:
    """Return whether a food is raw meat, poultry, fish, egg or milk and needs cooking before eating.

    When in doubt the answer is yes: a meat, fish or egg whose name does not say that it was cooked, cured or
    pasteurised counts as raw, unless the table lists foods as eaten.

    name: name of the food
    kind: its class, one of ``FOOD_CLASSES``
    as_eaten: the source lists foods as people eat them, so only the word ``raw`` counts

    >>> is_raw_animal("Chicken, breast, raw", "meat"), is_raw_animal("Chicken, breast, roasted", "meat")
    (True, False)
    """
    rules = _rules()["raw"]
    if _pattern(rules["always"]).search(name):
        return True
    named = bool(_pattern(rules["named"]).search(name))
    if kind == "dairy":
        return bool(_pattern(r"\b(raw|unpasteurized) milk\b|\bmilk\b.*\b(raw|unpasteurized)\b").search(name))
    if kind == "dish":
        animal = _pattern(
            r"\b(meat|beef|pork|chicken|turkey|fish|salmon|tuna|shrimp|seafood|egg|sausage|tartare|poke|ceviche)\b"
        )
        return named and bool(animal.search(name))
    if kind not in ANIMAL:
        return False
    return named or not (as_eaten or _pattern(rules["settled"]).search(name))


MOST_KINDS = 40


@cache
def _names() -> dict[str, dict[str, Any]]:
    return table_of("names.toml")


@cache
def _hint_pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE)


def starts_words(name: str, stems: Sequence[str]) -> bool:
    """Return whether every stem begins some word of the name.

    name: of the food, as printed
    stems: lower-case beginnings of words

    >>> starts_words("Blueberries, raw", ["blueberr"]), starts_words("Pineapple, raw", ["apple"])
    (True, False)
    """
    words = re.findall(r"[a-z]+", name.lower())
    return all(any(word.startswith(stem) for word in words) for stem in stems)


def _points_to(row: dict[str, Any], name: str) -> bool:
    if "pattern" in row:
        return _hint_pattern(row["pattern"]).search(name) is not None
    if any(starts_words(name, [stem]) for stem in row.get("unless", ())):
        return False
    return any(starts_words(name, phrase.split()) for phrase in row["words"])


@lru_cache(1024)
def hinted(name: str, food_class: str | None = None) -> tuple[str, ...]:
    """Return the kinds that an English name points to: a hint for the moment when a food enters, never used again.

    name: of the food
    food_class: one of the food classes, for kinds that change nothing in its foods are left out; None: not known

    >>> hinted("Carrots, cooked, boiled", "vegetable"), hinted("Zanahorias", "vegetable")
    (('cooked', 'carrot'), ())
    """
    found = [kind for kind, row in _names().items() if _points_to(row, name)]
    covered = {other for kind in found for other in _names()[kind].get("covers", ())}
    return in_order(kind for kind in found if kind not in covered and _matters(kind, food_class))


def _matters(kind: str, food_class: str | None) -> bool:
    return food_class is None or any(
        of_kind(kind, name, food_class) is not None for name in relative_rows()[kind] if name != "class"
    )


def written_like(food_class: str, like: Sequence[str]) -> str:
    """Return what a food behaves like as files write it.

    food_class: one of the food classes
    like: kinds that it is like

    >>> written_like("fruit", ("strawberry",))
    'fruit, strawberry'
    """
    return ", ".join((food_class, *like))


def read_like(words: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """Return the class and the kinds that words name; without a class the first kind that belongs to one settles it.

    words: classes and kinds, such as ``fruit`` and ``strawberry``

    >>> read_like(["strawberry", "cooked"])
    ('fruit', ('cooked', 'strawberry'))
    """
    known = (*class_rows(), *relative_rows())
    for word in words:
        if word not in known:
            raise unknown("like", word, known, msg("food class or kind of food"))
    classes = list(dict.fromkeys(word for word in words if word in class_rows()))
    kinds = in_order(word for word in words if word not in class_rows())
    if len(classes) > 1:
        raise InputError(
            "like", msg("only one food class, not {classes}; leave out the others", classes=", ".join(classes))
        )
    of_kinds = (relative_rows()[word]["class"] for word in words if "class" in relative_rows().get(word, {}))
    food_class = classes[0] if classes else next(of_kinds, None)
    if food_class is None:
        raise InputError(
            "like", msg("write a food class too, such as 'fruit, {kind}'", kind=", ".join(kinds) or "apple")
        )
    return food_class, kinds
