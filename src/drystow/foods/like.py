"""What a food behaves like, its class and the kinds that it is like: as people write it and as a name hints at it."""

import re
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any

from drystow.errors import InputError, unknown
from drystow.foods.kinds import class_rows, in_order, of_kind, relative_rows, table_of
from drystow.messages import msg

MOST_KINDS = 40


@cache
def _names() -> dict[str, dict[str, Any]]:
    return table_of("names.toml")


@cache
def _pattern(text: str) -> re.Pattern[str]:
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
        return _pattern(row["pattern"]).search(name) is not None
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
