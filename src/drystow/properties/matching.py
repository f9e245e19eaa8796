"""Finding the table row that a food's name points to."""

import re
from collections.abc import Sequence
from typing import Any


def starts_words(name: str, stems: Sequence[str]) -> bool:
    """Return whether every stem begins some word of the name.

    name: of the food, as printed
    stems: lower-case beginnings of words

    >>> starts_words("Blueberries, raw", ["blueberr"]), starts_words("Pineapple, raw", ["apple"])
    (True, False)
    """
    words = re.findall(r"[a-z]+", name.lower())
    return all(any(word.startswith(stem) for word in words) for stem in stems)


def first_row(rows: Sequence[dict[str, Any]], name: str, food_class: str) -> dict[str, Any] | None:
    """Return the first row that speaks about this food, or None.

    rows: each with `words` (alternatives, each a phrase whose words must all begin words of the name), optionally
        `unless` (stems that rule it out) and `classes`
    name: of the food, as printed
    food_class: one of the food classes
    """
    for row in rows:
        if food_class not in row.get("classes", (food_class,)):
            continue
        if any(starts_words(name, [stem]) for stem in row.get("unless", ())):
            continue
        if any(starts_words(name, phrase.split()) for phrase in row["words"]):
            return row
    return None
