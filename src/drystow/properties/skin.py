"""The skin of a food: how far it holds vapor back, and what is left of that once it is cut, pricked or blanched."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.foods.kinds import of_relatives
from drystow.foods.model import Food
from drystow.messages import msg

SKIN_STATES = ("whole", "pricked", "halved", "peeled", "blanched")
"""What can have been done to a skin; the words of load files."""

STATE_WORDS: dict[str, str] = {
    "whole": msg("whole"),
    "pricked": msg("pricked"),
    "halved": msg("halved or cut"),
    "peeled": msg("peeled"),
    "blanched": msg("blanched"),
}
"""The same for a reader."""

OPENED = "pricked"
"""What a whole skin is compared with."""

STATED = "waxy"
"""The skin of a food whose owner says that it has one, where its kind has none."""


@dataclass(frozen=True)
class Skin:
    """A skin on the food of a tray.

    state: one of `SKIN_STATES`
    resistance: to vapour, beside that of the dried layer, per outer area [m/s]
    spread: one standard deviation of its logarithm [-]
    source: key in sources.toml
    """

    state: str
    resistance: float
    spread: float
    source: str


@cache
def _rows() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(files("drystow.properties").joinpath("skins.toml").read_text(encoding="utf-8"))


def skin_name(food: Food) -> str:
    """Return the row of skins.toml for a food, empty where no skin holds its vapour back.

    food: as stated, else as the kinds that it is like

    >>> from drystow.foods.table import get
    >>> skin_name(get("Blueberries, raw")), skin_name(get("Carrots, raw"))
    ('blueberry', '')
    """
    if food.skin is False:
        return ""
    name = of_relatives("skin", food.food_class, food.like)
    return str(name["name"]) if name else STATED if food.skin else ""


def has_skin(food: Food) -> bool:
    """Return whether a skin holds the vapour of a food back while it is whole.

    food: as stated, else as the kinds that it is like
    """
    return bool(skin_name(food))


def usual_state(food: Food, shape: str) -> str:
    """Return the state of a food's skin where nobody says it.

    food: what it is; cooked food is blanched, a pea too, corn is cut off the cob
    shape: round pieces are whole, anything else was cut
    Source: drystow-default, the worse of what cooks do.

    >>> from drystow.foods.table import get
    >>> usual_state(get("Blueberries, raw"), "sphere"), usual_state(get("Blueberries, raw"), "slab")
    ('whole', 'halved')
    """
    usual = of_relatives("skin_state", food.food_class, food.like)
    return usual["state"] if usual else "whole" if shape == "sphere" else "halved"


def skin_of(food: Food, shape: str, state: str | None = None) -> Skin | None:
    """Return the skin of the food on a tray, None where none holds its vapour back.

    food: what it is
    shape: slab, stick, sphere or cube
    state: one of `SKIN_STATES`, None for the usual one
    Source: munzenmayer2020, fitted to it; drystow-default for other skins.
    """
    name = skin_name(food)
    if not name:
        return None
    state = state or usual_state(food, shape)
    kind, done = _rows()["skin"][name], _rows()["state"][state]
    return Skin(state, kind["resistance"] * done["left"], done.get("spread", kind["spread"]), kind["source"])
