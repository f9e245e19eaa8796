"""How long food may wait in the refrigerator and in the freezer before it is dried."""

from dataclasses import dataclass
from typing import Any

from drystow.foods.kinds import class_row, of_kind, of_relatives, relative_rows
from drystow.foods.model import Food
from drystow.messages import Message, msg

DAY = 24 * 3600.0


@dataclass(frozen=True)
class Window:
    """How long a food may wait.

    fridge: at most 4 °C [s]
    freezer: at -18 °C, for quality; 0: not to be frozen [s]
    source: key in sources.toml
    """

    fridge: float
    freezer: float
    source: str


def storage_window(food: Food) -> Window:
    """Return how long a food may wait; the short end of the range that public food-safety guidance gives.

    food: what it is; raw animal food has rows of its own, and where it is not stated the stricter row holds
    Source: cold-storage-chart; produce-storage.

    >>> from drystow.foods.table import get
    >>> storage_window(get("Chicken, breast, boneless, skinless, raw")).fridge / DAY
    1.0
    """
    if food.raw_animal is not None:
        return _window(food, food.raw_animal)
    raw, ready = _window(food, True), _window(food, False)
    stricter = raw if raw.fridge <= ready.fridge else ready
    return Window(stricter.fridge, min(raw.freezer, ready.freezer), stricter.source)


def judged_by_eye(food: Food) -> bool:
    """Return whether a food past its window may be looked at to decide: plants that are not cooked.

    Germs that make people ill grow on other food without a sign. What is not stated to be free of raw animal food is
    none of these.

    food: what it is
    Source: drystow-default, common practice.

    >>> from drystow.foods.table import get
    >>> judged_by_eye(get("Blueberries, raw")), judged_by_eye(get("Chicken, breast, boneless, skinless, raw"))
    (True, False)
    """
    return not food.may_be_raw and bool(_row(food, False).get("by_eye"))


def _window(food: Food, raw: bool) -> Window:
    row = _row(food, raw)
    return Window(row["fridge"] * DAY, row["freezer"] * DAY, row["source"])


def _row(food: Food, raw: bool) -> dict[str, Any]:
    """Return the row of a food, be it raw animal food or not.

    What was done to it comes first. Of several kinds of food in one the one that waits least holds; one without a row
    of its own waits as its class does, and crushed none waits longer than that.
    """
    usual = class_row(food.food_class)
    name = "cold_raw" if raw and "cold_raw" in usual else "cold"
    rows = [(relative_rows()[kind], of_kind(kind, name, food.food_class)) for kind in food.like]
    done = next((own for row, own in rows if own is not None and "class" not in row), None)
    mixed = [own or usual[name] for row, own in rows if "class" in row]
    if of_relatives("tissue", food.food_class, food.like) is False:
        mixed.append(usual[name])
    found: dict[str, Any] = done or min(mixed, key=lambda row: (row["fridge"], row["freezer"]), default=usual[name])
    return found


DO_NOT_USE, LOOK = "do_not_use", "look_and_decide"
"""Verdicts on food past its limit."""

WORDS = {
    DO_NOT_USE: msg("waited too long: do not use it"),
    LOOK: msg("waited too long: look at it and decide"),
}
"""Verdicts as they stand beside the food."""


def verdict_on(food: Food) -> str:
    """Return what is to be done with a food past its limit; what is not surely a plant is not used any more.

    food: what it is
    """
    return LOOK if judged_by_eye(food) else DO_NOT_USE


def verdict_words(verdict: str) -> Message:
    """Return a verdict as it stands beside the food.

    verdict: one of `DO_NOT_USE` and `LOOK`
    """
    return WORDS.get(verdict, WORDS[DO_NOT_USE])


def too_old_words(name: str, until: str, verdict: str) -> Message:
    """Return that a lot waited too long, and what is to be done with it.

    name: of the lot
    until: when it would have had to be dried or frozen, as a date
    verdict: one of those on food past its limit
    """
    if verdict == LOOK:
        return msg(
            "{name}: look at it and decide. It waited too long; it had to be dried or frozen by {until}",
            name=name,
            until=until,
        )
    return msg(
        "{name}: do not use it. It waited too long; it had to be dried or frozen by {until}", name=name, until=until
    )
