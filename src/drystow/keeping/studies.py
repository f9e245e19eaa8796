"""Storage studies that found no end within their time: a lower bound for foods like theirs, never a value."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.foods.kinds import of_relatives
from drystow.foods.model import Food
from drystow.keeping.speed import life_in_store
from drystow.messages import msg
from drystow.packing.plan import PackPlan
from drystow.packing.seasons import YEAR

ALL = "all"
"""Of eating altogether, not of one limit."""

TITLES = {
    "usu-5494": msg("24-month study of dried potato, apple and carrot"),
    "lloyd2009": msg("12-month study of whole milk powder in nitrogen"),
    "byu-rice": msg("study of white rice up to 30 years old, in cans without oxygen"),
    "byu-milk": msg("study of non-fat dry milk up to 29 years old, in cans"),
    "byu-milk-browning": msg("study of non-fat dry milk up to 29 years old, in cans"),
}
"""What readers call them, by the key of their row."""


@dataclass(frozen=True)
class Bound:
    """At least so long, as a study found no end.

    study: its key in studies.toml
    ends: limit of which no end was found, or `ALL`
    time: in this store [s]
    source: key in sources.toml
    mark: how the figure got here
    """

    study: str
    ends: str
    time: float
    source: str
    mark: str


@cache
def studies_table() -> dict[str, dict[str, Any]]:
    """Return every study of which no end was found."""
    return tomllib.loads(files("drystow.keeping").joinpath("studies.toml").read_text(encoding="utf-8"))


def bounds_of(plan: PackPlan) -> tuple[Bound, ...]:
    """Return the bounds that hold for a package, the longest first.

    plan: of the package; where a study had no oxygen the bound lasts as long as the absorber does
    """
    found = []
    for key, row in studies_table().items():
        if not _speaks_for(row, key, plan.pack.food):
            continue
        study = row["years"] * YEAR
        time = min(
            study,
            life_in_store(study, row["temperature"] + ZERO_CELSIUS, float(row["energy"]), plan.pack.seasons),
        )
        if row["oxygen_free"]:
            time = min(time, plan.absorber_time)
        if time > 0:
            found.append(Bound(key, row["ends"], time, row["source"], row["mark"]))
    return tuple(sorted(found, key=lambda bound: -bound.time))


def _speaks_for(row: dict[str, Any], key: str, food: Food) -> bool:
    if food.food_class not in row["classes"]:
        return False
    if row.get("kinds") and key not in (of_relatives("studied", food.food_class, food.like) or ()):
        return False
    made = food.composition
    return made.solids > 0 and all(
        getattr(made, part) / made.solids <= row[part] for part in ("fat", "sugars", "protein") if part in row
    )
