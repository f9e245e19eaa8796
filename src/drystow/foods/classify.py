"""Class, allergens and the raw-animal mark of a food, read from its name and its group."""

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

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
