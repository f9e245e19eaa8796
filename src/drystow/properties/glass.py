"""Glass transition: how warm an ice front may be, and when dried food turns sticky.

Two conventions are kept apart: `melting_onset` (Roos' T'm, where ice begins to melt; close to the T'g of Levine and
Slade) and `glass_transition` (Roos' T'g, about 11 K lower for sugars, where nothing at all can move). Juices collapse
at the onset of melting; pieces with whole cells do not, so how warm their front may be is a matter of its own.
"""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, InputError, check_range
from drystow.foods.kinds import is_a, of_relatives
from drystow.foods.model import Composition
from drystow.foods.usual_parts import UNTOLD_SUGARS
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.properties.ice import initial_freezing_point, solutes
from drystow.properties.water import ice_temperature
from drystow.shown import quantity

WATER_GLASS_TEMPERATURE = 138.0
"""Glass transition of water [K]. Source: roos1993."""

TRIED_PRESSURE = 267.0
"""Highest chamber pressure at which pieces of fruit were freeze-dried to a crisp snack [Pa]. Their front was warmer
than ice at this pressure, -9.7 °C. Source: khampakool."""

TRIED_LIQUID = 0.22
"""Share of such a piece's freezable water that was liquid there [-]: of ripe banana, which starts to freeze at -2.1 °C.
Source: chen1985, worked out for khampakool."""

SUGAR_RULES = 0.10
"""With more sugars than this in the solids of milk, dishes and drinks, protein is a phase of its own and does not count
[-]. Source: roos2002."""

SOLUBLE_FIBRE = 0.40
"""Share of the fibre that dissolves, mostly pectin, and so mixes with the sugars [-]; the middle of 46 fruits and
vegetables, two in three from 0.25 to 0.54. Source: fiber-portions."""

WET_BASIS = msg("wet basis, 0.03 for 3%")

NO_ICE = 213.15
"""Food that starts to freeze colder than this, -60 °C, turns to glass instead [K]. Source: drystow-default."""

LEAST_SPREAD = 1.0
"""A smaller spread of the onset of melting is not worth a word [K]. Source: drystow-default."""

STICKY_ABOVE = 15.0
"""Food turns sticky about this far above its glass transition [K]. Source: stickiness-rule."""


@dataclass(frozen=True)
class FrontLimits:
    """How warm the ice front of a food may become.

    melting_onset: where ice begins to melt in the freeze-concentrate (T'm), cautious limit [K]
    glass_transition: of the freeze-concentrate (T'g), very safe limit [K]
    collapse: where the structure gives way or nobody has tried further, the limit a simulation watches [K]
    tissue: whole cells hold the structure
    known: measured, tried (pieces held up to there, further is not known) or not known (the onset of melting, careful)
    spread: of the onset of melting because nobody measured the sugars; 0 where somebody did [K]
    basis: a sentence on where the limits come from
    mark: how far the collapse limit can be trusted
    sources: keys in sources.toml
    """

    melting_onset: float
    glass_transition: float
    collapse: float
    tissue: bool
    known: str
    spread: float
    basis: str
    mark: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Stickiness:
    """Dried food at its storage temperature.

    glass_transition: of the food at this moisture [K]
    margin: glass transition minus storage temperature [K]
    spread: of the glass transition because nobody measured the sugars; 0 where somebody did [K]
    verdict: crisp, leathery or sticky
    text: one plain sentence
    """

    glass_transition: float
    margin: float
    spread: float
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


def _dry_parts(composition: Composition, food_class: str, like: tuple[str, ...]) -> dict[str, float]:
    """Return the solids that share one glass: solutes, dissolved polymers, and protein where it is no phase of its own.

    Cell walls show no glass transition and leave that of the solutes alone; what dissolves of them raises it.
    """
    parts = solutes(composition, food_class, like)
    rest = max(composition.carbohydrate - composition.sugars - parts["acid"], 0.0)
    walls = composition.fibre
    if is_a(food_class, "no-starch"):
        walls += rest
    else:
        parts["starch"] = rest
    parts["pectin"] = SOLUBLE_FIBRE * walls
    if is_a(food_class, "tissue") or composition.sugars <= SUGAR_RULES * composition.solids:
        parts["protein"] = composition.protein
    return {part: mass for part, mass in parts.items() if mass > 0.0}


def _weighted(parts: dict[str, float], quantity: str) -> float:
    solute = _table()["solute"]
    return sum(mass * float(solute[part][quantity]) for part, mass in parts.items()) / sum(parts.values())


def _sugar_spread(composition: Composition, of: Callable[[Composition], float]) -> float:
    """Return how far a quantity moves with the spread of sugars that nobody measured, 0 where somebody did."""
    if composition.sugars_sd <= 0.0:
        return 0.0
    ends = (composition.sugars - composition.sugars_sd, composition.sugars + composition.sugars_sd)
    held = [min(max(sugars, 0.0), composition.carbohydrate) for sugars in ends]
    few, many = (of(replace(composition, sugars=sugars, sugars_sd=0.0)) for sugars in held)
    return abs(many - few) / 2.0


def dry_glass_temperature(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> float:
    """Glass transition of the food without any water [K].

    composition: of the food
    food_class: one of the food classes
    like: kinds of food that it is like; a measured value wins
    Valid: sugars, acid, protein and dissolved polymers mix; fat, ash and cell walls do not count. Protein in milk,
        dishes and drinks with more than 10% sugars in the solids is a phase of its own.
    Source: roos1993 for the sugars, aguilera1998 for the cell walls, mixed by Fox's rule.
    Error: 10 to 15 K; laboratories differ as much (apple 4.5 to 41 °C).

    >>> apple = Composition(water=0.86, carbohydrate=0.115, fibre=0.02, protein=0.003, ash=0.002, sugars=0.10)
    >>> print(f"{dry_glass_temperature(apple, 'fruit') - 273.15:.0f}")
    31
    """
    measured = of_relatives("glass", food_class, like)
    if measured and "dry_glass" in measured:
        return float(measured["dry_glass"]) + ZERO_CELSIUS
    parts = _dry_parts(composition, food_class, like)
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
    spread = _sugar_spread(composition, lambda made: float(glass_temperature(made, food_class, water, like)))
    margin = glass - storage_temperature
    if margin - spread >= 0.0:
        above = quantity(margin, "temperature difference", 0)
        text = msg("Stays crisp: it would soften only {margin} above the storage temperature.", margin=above)
        return Stickiness(glass, margin, spread, "crisp", text)
    if margin >= 0.0:
        text = msg(
            "Whether it stays crisp is not known: no one measured its sugars. Keep it cool and check it now and then."
        )
        return Stickiness(glass, margin, spread, "leathery", text)
    if margin > -STICKY_ABOVE:
        text = msg("It may turn leathery and clump. Keep it cooler or dry it further.")
        return Stickiness(glass, margin, spread, "leathery", text)
    text = msg("It will turn sticky and may shrink. Keep it cooler, dry it further, or expect a chewy result.")
    return Stickiness(glass, margin, spread, "sticky", text)


def is_tissue(food_class: str, like: tuple[str, ...] = ()) -> bool:
    """Return whether whole cells hold the food's structure: pieces of plants or muscle, not juice or purée.

    food_class: one of the food classes
    like: kinds of food that it is like
    """
    return is_a(food_class, "tissue") and of_relatives("tissue", food_class, like) is not False


def tried_limit(freezing_point: float) -> float:
    """Warmest ice front at which pieces of plants are known to have kept their shape [K].

    freezing_point: where the first ice forms in them [K]
    Valid: whole cells. Banana was dried at 267 Pa, so its front was warmer than ice at that pressure. Sweeter pieces
        hold as much liquid in a colder front. Pieces shrink little by little up to there, with no step.
    Source: khampakool; krokida1998 for the shrinking of apple, banana, carrot and potato between -45 and -5 °C.
    Error: a limit of what was tried, not of what is possible.

    >>> print(f"{tried_limit(272.2) - 273.15:.1f} {tried_limit(269.0) - 273.15:.1f}")
    -9.7 -18.9
    """
    check_range("freezing_point", freezing_point, 200, 273.149, "K", hint=CELSIUS_HINT)
    return min(float(ice_temperature(TRIED_PRESSURE)), ZERO_CELSIUS + (freezing_point - ZERO_CELSIUS) / TRIED_LIQUID)


def collapse_limits(composition: Composition, food_class: str, like: tuple[str, ...] = ()) -> FrontLimits:
    """Return how warm the ice front may become before ice melts or the structure collapses.

    Onset of melting and glass transition follow the mass-weighted solutes (sugars, acid, other carbohydrate; protein
    where there is little sugar).
    Juices collapse there, and for all else that no cells hold together no one knows better. Cell walls carry pieces of
    plants further, up to where they were tried. Muscle follows its protein, -12 °C. Measured values replace computed
    ones.

    composition: of the food
    food_class: one of the food classes
    like: kinds of food that it is like; measured values win
    Source: roos1993, belitz, khampakool.
    """
    measured = of_relatives("glass", food_class, like) or {}
    tissue = is_tissue(food_class, like)
    muscle = is_a(food_class, "muscle")
    if tissue is False and measured.get("collapse_source"):
        measured = {}  # that collapse was measured on tissue
    parts = _parts(composition, food_class, like)
    if not parts:
        raise InputError("composition", msg("it has no carbohydrate or protein, so nothing holds its shape"))
    sources = ["roos1993", "belitz"]
    onset = float(measured.get("melting_onset", _weighted(parts, "melting_onset")))
    glass = min(float(measured.get("glass_onset", _weighted(parts, "glass_onset"))), onset)
    spread = 0.0
    onset_known = msg("Start of melting calculated from its sugars, other carbohydrate and protein")
    if "melting_onset" in measured:
        onset_known = msg("Start of melting measured")
        sources.append(measured["source"])
    else:
        spread = _sugar_spread(composition, lambda made: _weighted(_parts(made, food_class, like), "melting_onset"))
    collapse, known, mark = onset, "not known", "class default"
    if "collapse" in measured:
        collapse, known, mark = float(measured["collapse"]), "measured", measured["mark"]
        sources.append(measured.get("collapse_source", measured["source"]))
        structure = msg("collapse limit measured on this kind of food")
        if "melting_onset" not in measured:
            onset = min(onset, collapse)
            glass = min(glass, onset)
    elif muscle:
        known, mark = ("measured", measured["mark"]) if measured else ("tried", "class default")
        structure = msg("muscle fiber holds its shape up to there")
    elif tissue:
        known = "tried"
        start = max(initial_freezing_point(composition, food_class, like), NO_ICE) - ZERO_CELSIUS
        onset = min(onset, start)  # salt and dense sugar melt ice before starch gives way
        glass = min(glass, onset)
        collapse = max(onset, tried_limit(start + ZERO_CELSIUS) - ZERO_CELSIUS)
        sources += ["khampakool", "krokida1998"]
        structure = msg(
            "cell walls hold pieces together above that, with a little shrinkage; beyond the limit it is not known"
        )
    else:
        structure = msg(
            "juices collapse there, as only the frozen concentrate holds them together; for this food it is not known"
        )
    basis = msg("{onset}; {structure}.", onset=onset_known, structure=structure)
    if note := sugars_note(composition, spread):
        basis = msg("{limits} {sugars}", limits=basis, sugars=note)
    return FrontLimits(
        melting_onset=onset + ZERO_CELSIUS,
        glass_transition=glass + ZERO_CELSIUS,
        collapse=collapse + ZERO_CELSIUS,
        tissue=tissue,
        known=known,
        spread=spread,
        basis=basis,
        mark=mark,
        sources=tuple(dict.fromkeys(sources)),
    )


def sugars_note(composition: Composition, spread: float) -> str:
    """Return a sentence on sugars that nobody measured, empty where somebody did or they hardly matter.

    composition: of the food
    spread: of its onset of melting that follows [K]
    """
    if composition.sugars_sd <= UNTOLD_SUGARS:
        return ""
    told = {"sugars": composition.sugars, "sd": composition.sugars_sd}
    if spread < LEAST_SPREAD:
        return msg("No one measured its sugars; as in similar foods they count as {sugars:.1%} ± {sd:.1%}.", **told)
    return msg(
        "No one measured its sugars; as in similar foods they count as {sugars:.1%} ± {sd:.1%}, "
        "which moves the start of melting by {spread} either way.",
        **told,
        spread=quantity(spread, "temperature difference", 0),
    )
