"""How long food may wait in the refrigerator and in the freezer before it is dried."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drystow.foods.model import Food

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


@dataclass(frozen=True)
class _Row:
    classes: tuple[str, ...]
    raw: bool
    name: str
    window: Window
    by_eye: bool


@cache
def _rows() -> tuple[_Row, ...]:
    raw = tomllib.loads(files("drystow.planning").joinpath("cold_storage.toml").read_text(encoding="utf-8"))
    return tuple(
        _Row(
            tuple(row["class"]),
            row.get("raw", False),
            row.get("name", ""),
            Window(row["fridge"] * DAY, row["freezer"] * DAY, row["source"]),
            row.get("by_eye", False),
        )
        for row in raw["row"]
    )


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
    row = _row(food, food.may_be_raw)
    return row is not None and row.by_eye and not food.may_be_raw


def _window(food: Food, raw: bool) -> Window:
    row = _row(food, raw)
    return Window(DAY, 0.0, "drystow-default") if row is None else row.window


def _row(food: Food, raw: bool) -> _Row | None:
    """Return the first row that fits a food, be it raw animal food or not."""
    for row in _rows():
        if food.food_class not in row.classes or (row.raw and not raw):
            continue
        if re.search(row.name, food.name, re.IGNORECASE):
            return row
    return None
