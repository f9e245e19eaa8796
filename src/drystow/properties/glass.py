"""Glass transition: how warm an ice front may be, and when dried food turns sticky.

Two conventions are kept apart: `melting_onset` (Roos' T'm, where ice begins to melt; close to the T'g of Levine and
Slade) and `glass_transition` (Roos' T'g, about 11 K lower for sugars, where nothing at all can move).
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, InputError, check_range
from drystow.foods.kinds import is_a, of_relatives
from drystow.foods.model import Composition
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.properties.ice import solutes
from drystow.shown import quantity

WATER_GLASS_TEMPERATURE = 138.0
"""Glass transition of water [K]. Source: roos1993."""

TISSUE_SHARE = 0.55
"""Collapse limit of plant tissue over its onset of melting, both in °C [-]. Source: drystow-default."""

SUGAR_RULES = 0.10
"""With more sugars than this in the solids, protein is a phase of its own and does not count [-]. Source: roos2002."""

WET_BASIS = msg("wet basis, 0.03 for 3%")

STICKY_ABOVE = 15.0
"""Food turns sticky about this far above its glass transition [K]. Source: stickiness-rule."""


@dataclass(frozen=True)
class FrontLimits:
    """How warm the ice front of a food may become.

    melting_onset: where ice begins to melt in the freeze-concentrate (T'm), cautious limit [K]
    glass_transition: of the freeze-concentrate (T'g), very safe limit [K]
    collapse: where the structure gives way, the limit a simulation watches [K]
    tissue: whole cells hold the structure
    basis: a sentence on where the limits come from
    mark: how far the collapse limit can be trusted
    sources: keys in sources.toml
    """

    melting_onset: float
    glass_transition: float
    collapse: float
    tissue: bool
    basis: str
    mark: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Stickiness:
    """Dried food at its storage temperature.

    glass_transition: of the food at this moisture [K]
    margin: glass transition minus storage temperature [K]
    verdict: crisp, leathery or sticky
    text: one plain sentence
    """

    glass_transition: float
    margin: float
    verdict: str
    text: str


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("drystow.properties").joinpath("glass.toml").read_text(encoding="utf-8"))


def gordon_taylor(water: Numeric, solid_glass_temperature: Numeric, k: Numeric) -> Numeric:
    """Glass transition of a dried food with some water in it [K].

    water: of the food, wet basis [-]
    solid_glass_temperature: glass transition without any water [K]
    k: how strongly water softens it [-]
    Valid: moisture below about 0.3; mixtures of glucose polymers bend away from it.
    Source: roos1993, Gordon-Taylor equation with water at 138 K.

    >>> print(f"{gordon_taylor(0.068, 374.15, 6.56) - 273.15:.0f}")
    25
    """
    check_range("water", water, 0, 1, "", hint=WET_BASIS)
    check_range("solid_glass_temperature", solid_glass_temperature, 150, 700, "K", hint=CELSIUS_HINT)
    check_range("k", k, 0, 100, "", above=True)
    solids = 1.0 - water
    return (solids * solid_glass_temperature + k * water * WATER_GLASS_TEMPERATURE) / (solids + k * water)


def gordon_taylor_constant(solid_glass_temperature: Numeric) -> Numeric:
    """Constant k of Gordon and Taylor's equation for a sugar [-].

    solid_glass_temperature: glass transition without any water [K]
    Valid: sugars, 5 to 101 °C; an estimate for other solids.
    Source: roos1993, k = 0.0293 T_gs (°C) + 3.61.

    >>> print(f"{gordon_taylor_constant(335.15):.2f}")
    5.43
    """
    return 0.0293 * (solid_glass_temperature - ZERO_CELSIUS) + 3.61


def _parts(composition: Composition, food_class: str, like: tuple[str, ...]) -> dict[str, float]:
    parts = solutes(composition, food_class, like)
    parts["starch"] = max(composition.carbohydrate - composition.sugars - parts["acid"], 0.0)
    if composition.sugars <= SUGAR_RULES * composition.solids:
        parts["protein"] = composition.protein
    return {part: mass for part, mass in parts.items() if mass > 0.0}


def _weighted(parts: dict[str, float], quantity: str) -> float:
    solute = _table()["solute"]
    return sum(mass * float(solute[part][quantity]) for part, mass in parts.items()) / sum(parts.values())


def dry_glass_temperature(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> float:
    """Glass transition of the food without any water [K].

    composition: of the food
    food_class: one of the food classes
    like: kinds of food that it is like; a measured value wins
    Valid: fat, fibre and ash do not count; with more than 10% sugars in the solids neither does protein, which then is
        a phase of its own.
    Source: roos1993 for the sugars, mixed by Fox's rule.
    Error: 10 to 15 K.

    >>> apple = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
    >>> print(f"{dry_glass_temperature(apple, 'fruit') - 273.15:.0f}")
    32
    """
    measured = of_relatives("glass", food_class, like)
    if measured and "dry_glass" in measured:
        return float(measured["dry_glass"]) + ZERO_CELSIUS
    parts = _parts(composition, food_class, like)
    if not parts:
        raise InputError("composition", msg("it has no carbohydrate or protein, so it has no softening temperature"))
    solute = _table()["solute"]
    reciprocal = sum(mass / (float(solute[part]["dry_glass"]) + ZERO_CELSIUS) for part, mass in parts.items())
    return sum(parts.values()) / reciprocal


def glass_temperature(composition: Composition, food_class: str, water: Numeric, like: tuple[str, ...] = ()) -> Numeric:
    """Glass transition of a dried food at a moisture [K].

    composition: of the food, fresh or dried
    food_class: one of the food classes
    water: of the dried food, wet basis [-]
    like: kinds of food that it is like; measured constants win
    Source: roos1993.
    Error: 10 to 15 K; fat takes no water, so the water is counted against the solids without fat.
    """
    dry = dry_glass_temperature(composition, food_class, like)
    measured = of_relatives("glass", food_class, like)
    k = float(measured["k"]) if measured and "k" in measured else float(gordon_taylor_constant(min(dry, 420.0)))
    lean = 1.0 - composition.fat / composition.solids if composition.solids > 0 else 1.0
    return gordon_taylor(water / (water + (1.0 - water) * max(lean, 0.02)), dry, k)


def stickiness(
    composition: Composition, food_class: str, water: float, storage_temperature: float, like: tuple[str, ...] = ()
) -> Stickiness:
    """Return whether the dried food stays crisp in storage.

    composition: of the food, fresh or dried
    food_class: one of the food classes
    water: of the dried food, wet basis [-]
    storage_temperature: warmest in storage [K]
    like: kinds of food that it is like
    Source: stickiness-rule.
    """
    glass = float(glass_temperature(composition, food_class, water, like))
    margin = glass - storage_temperature
    if margin >= 0.0:
        above = quantity(margin, "temperature difference", 0)
        text = msg("Stays crisp: it would soften only {margin} above the storage temperature.", margin=above)
        return Stickiness(glass, margin, "crisp", text)
    if margin > -STICKY_ABOVE:
        text = msg("It may turn leathery and clump. Keep it cooler or dry it further.")
        return Stickiness(glass, margin, "leathery", text)
    text = msg("It will turn sticky and may shrink. Keep it cooler, dry it further, or expect a chewy result.")
    return Stickiness(glass, margin, "sticky", text)


def is_tissue(food_class: str, like: tuple[str, ...] = ()) -> bool:
    """Return whether whole cells hold the food's structure: pieces of plants or muscle, not juice or purée.

    food_class: one of the food classes
    like: kinds of food that it is like
    """
    return is_a(food_class, "tissue") and of_relatives("tissue", food_class, like) is not False


def collapse_limits(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> FrontLimits:
    """Return how warm the ice front may become before ice melts or the structure collapses.

    Onset of melting and glass transition follow the mass-weighted solutes (sugars, acid, other carbohydrate; protein
    where there is little sugar).
    Juices and purées collapse there. Cell walls carry sugary tissue further: apple tissue gave way at -23.3 °C where
    its juice does at -41.5 °C, potato at -1.5 °C against -11 °C; 0.55 times the onset in °C meets the apple and stays
    below the potato. Muscle follows its protein, -12 °C. Measured values replace computed ones.

    composition: of the food
    food_class: one of the food classes
    like: kinds of food that it is like; measured values win
    Source: roos1993, belitz, davies-thesis; rule for tissue drystow-default.
    """
    measured = of_relatives("glass", food_class, like) or {}
    tissue = is_tissue(food_class, like)
    if tissue is False and measured.get("collapse_source"):
        measured = {}  # that collapse was measured on tissue
    parts = _parts(composition, food_class, like)
    if not parts:
        raise InputError("composition", msg("it has no carbohydrate or protein, so nothing holds its shape"))
    sources = ["roos1993", "belitz"]
    onset = float(measured.get("melting_onset", _weighted(parts, "melting_onset")))
    glass = min(float(measured.get("glass_onset", _weighted(parts, "glass_onset"))), onset)
    muscle = is_a(food_class, "muscle")
    collapse = TISSUE_SHARE * onset if tissue and not muscle else onset
    mark = "class default"
    onset_known = msg("Start of melting calculated from its sugars, other carbohydrate and protein")
    if "melting_onset" in measured:
        onset_known = msg("Start of melting measured")
        sources.append(measured["source"])
        mark = "class default" if tissue and not muscle else measured["mark"]
    if "collapse" in measured:
        collapse, mark = float(measured["collapse"]), measured["mark"]
        sources.append(measured.get("collapse_source", measured["source"]))
        structure = msg("collapse limit measured on this kind of food")
        if "melting_onset" not in measured:
            onset = min(onset, collapse)
            glass = min(glass, onset)
    elif tissue and not muscle:
        sources.append("drystow-default")
        structure = msg("cell walls hold pieces together above that, so the limit is warmer")
    elif muscle:
        structure = msg("muscle fiber holds its shape up to there")
    else:
        structure = msg("only the frozen concentrate holds it together, so the limit is the same")
    return FrontLimits(
        melting_onset=onset + ZERO_CELSIUS,
        glass_transition=glass + ZERO_CELSIUS,
        collapse=collapse + ZERO_CELSIUS,
        tissue=tissue,
        basis=msg("{onset}; {structure}.", onset=onset_known, structure=structure),
        mark=mark,
        sources=tuple(dict.fromkeys(sources)),
    )
