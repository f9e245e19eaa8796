"""What follows from a food's class and from the kinds that it is like: the rows of classes.toml and relatives.toml.

Nothing here reads a food's name; `drystow.foods.classify` does that once, when a food enters.
"""

import tomllib
from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from drystow.errors import unknown
from drystow.messages import msg

WORDS = (
    "tissue", "muscle", "blanched", "skinned", "cooked-first", "smells", "takes-smell",
    "vitamin-c", "spoils-wet", "refrozen-by-look", "no-starch",
)  # fmt: skip
"""Words that a class may have under `is`; classes.toml explains them."""

ONLY_WHERE = {
    "tissue": "tissue", "skin": "tissue", "studied": "tissue", "blanch": "blanched", "soften": "blanched",
    "limp": "blanched", "stone": "skinned", "brown": "skinned",
}  # fmt: skip
"""Properties of kinds that hold only in foods of a class with this word."""


def table_of(name: str) -> dict[str, Any]:
    """Return a table of this package.

    name: of its file
    """
    return tomllib.loads((Path(__file__).parent / name).read_text(encoding="utf-8"))


@cache
def class_rows() -> dict[str, dict[str, Any]]:
    """Return every class with what follows from it, in the order in which people see them."""
    return table_of("classes.toml")


@cache
def relative_rows() -> dict[str, dict[str, Any]]:
    """Return every kind that a food can be like; a property that a family shares stands in each of its rows."""
    rows = table_of("relatives.toml")
    families = rows.pop("family")
    for row in rows.values():
        for name, family in families.items():
            if isinstance(row.get(name), str):
                row[name] = family[row[name]]
    return rows


def class_row(food_class: str) -> dict[str, Any]:
    """Return what follows from a class; an unknown one is an error that names the nearest.

    food_class: one of the food classes
    """
    if food_class not in class_rows():
        raise unknown("class", food_class, class_rows(), msg("food class"))
    return class_rows()[food_class]


def is_a(food_class: str, word: str) -> bool:
    """Return whether a class has a word of `WORDS`.

    food_class: one of the food classes
    word: one of `WORDS`

    >>> is_a("fruit", "tissue"), is_a("liquid", "tissue")
    (True, False)
    """
    return word in class_row(food_class)["is"]


def classes_that_are(word: str) -> tuple[str, ...]:
    """Return the classes that have a word of `WORDS`.

    word: one of `WORDS`
    """
    return tuple(name for name, row in class_rows().items() if word in row["is"])


def in_order(kinds: Iterable[str]) -> tuple[str, ...]:
    """Return kinds once each, in the order of relatives.toml, which settles whose property holds.

    kinds: keys of relatives.toml

    >>> in_order(["cooked", "strawberry", "cooked"])
    ('cooked', 'strawberry')
    """
    wanted = set(kinds)
    return tuple(name for name in relative_rows() if name in wanted)


def of_kind(kind: str, name: str, food_class: str) -> Any | None:
    """Return a property of a kind as it holds in foods of a class, None where it has none.

    kind: key of relatives.toml
    name: of the property
    food_class: one of the food classes
    """
    value = relative_rows()[kind].get(name)
    if isinstance(value, dict) and food_class not in value.get("classes", (food_class,)):
        return None
    return value if name not in ONLY_WHERE or is_a(food_class, ONLY_WHERE[name]) else None


@lru_cache(4096)
def of_relatives(name: str, food_class: str, like: tuple[str, ...]) -> Any | None:
    """Return a property from the first kind that a food is like and that has it, None where none does.

    name: of the property
    food_class: one of the food classes
    like: kinds that it is like, in the order of `in_order`

    >>> of_relatives("brown", "fruit", ("apple",)), of_relatives("brown", "fruit", ("crushed", "apple"))
    (True, False)
    """
    found = (of_kind(kind, name, food_class) for kind in like)
    return next((value for value in found if value is not None), None)


def property_of(name: str, food_class: str, like: tuple[str, ...]) -> Any:
    """Return a property from the kinds that a food is like, else from its class, None where neither has it.

    name: of the property
    food_class: one of the food classes
    like: kinds that it is like
    """
    value = of_relatives(name, food_class, like)
    return class_row(food_class).get(name) if value is None else value
