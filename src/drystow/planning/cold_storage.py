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


@cache
def _rows() -> tuple[_Row, ...]:
    raw = tomllib.loads(files("drystow.planning").joinpath("cold_storage.toml").read_text(encoding="utf-8"))
    return tuple(
        _Row(
            tuple(row["class"]),
            row.get("raw", False),
            row.get("name", ""),
            Window(row["fridge"] * DAY, row["freezer"] * DAY, row["source"]),
        )
        for row in raw["row"]
    )


def storage_window(food: Food) -> Window:
    """Return how long a food may wait; the short end of the range that public food-safety guidance gives.

    food: what it is; raw animal food has rows of its own
    Source: cold-storage-chart; produce-storage.

    >>> from drystow.foods.table import get
    >>> storage_window(get("Chicken, breast, boneless, skinless, raw")).fridge / DAY
    1.0
    """
    for row in _rows():
        if food.food_class not in row.classes or (row.raw and not food.raw_animal):
            continue
        if re.search(row.name, food.name, re.IGNORECASE):
            return row.window
    return Window(DAY, 0.0, "drystow-default")
