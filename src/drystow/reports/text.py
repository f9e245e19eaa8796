"""Small pieces of wording shared by labels, sheets and screens."""

import math
import unicodedata

from drystow.messages import Translate, english, msg, told
from drystow.serving.rehydration import WATER_DENSITY
from drystow.shown import as_shown, show

POUND = 0.45359237  # kg
TENTHS_BELOW = 9.9  # kg; tenths of a gram are lost beside more
NEAR = 0.005  # how far water may be off for the sake of a short sum, else the weights get a digit more

_FORMAT_CHARACTERS_KEPT = {"\u200c", "\u200d", "\u200e", "\u200f"}  # joiners and direction marks that words need


def plain(text: str, limit: int = 0) -> str:
    """Return `text` on one line without control characters; longer than `limit` it ends in an ellipsis."""
    joined = " ".join(str(text).split())
    clean = joined if joined.isprintable() else "".join(filter(_printed, joined))
    if limit and len(clean) > limit:
        clean = clean[: limit - 1].rstrip() + "…"
    return clean


def sentence(text: str, translate: Translate = english) -> str:
    """Return `plain` text in the reader's language, with a capital at its start and a stop at its end.

    >>> sentence("every tray is dry")
    'Every tray is dry.'
    """
    words = plain(told(text, translate))
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "!", "?", "…")) else ".")


def _printed(letter: str) -> bool:
    return letter in _FORMAT_CHARACTERS_KEPT or not unicodedata.category(letter).startswith("C")


def duration_text(seconds: float) -> str:
    """Return a time span as a cook says it.

    >>> duration_text(97200), duration_text(2700), duration_text(6000), duration_text(360000), duration_text(41)
    ('27 h', '45 min', '1 h 40 min', '4 d 4 h', '40 s')
    """
    if 0 < seconds < 57.5:
        return f"{max(5, 5 * round(seconds / 5))} s"
    return show(seconds, "time")


def promised_text(seconds: float) -> str:
    """Return a time within which something will be done, rounded up.

    >>> promised_text(15.46 * 3600), promised_text(24 * 3600.0), promised_text(6030), promised_text(80.2 * 3600)
    ('16 h', '24 h', '1 h 41 min', '3 d 9 h')
    """
    return show(seconds, "time within")


def unending_text(low: float, high: float) -> str:
    """Return what to say of 8 simulated runs in 10 where not all of them end, nothing where they do.

    low, high: time that they take; infinite where a run never ends [s]

    >>> unending_text(68400, 75600), unending_text(68400, math.inf)
    ('', 'The fastest simulated runs take 19 h; some never get dry.')
    >>> unending_text(math.inf, math.inf)
    'Fewer than 1 in 10 simulated runs get dry.'
    """
    if not math.isfinite(low):
        return msg("Fewer than 1 in 10 simulated runs get dry.")
    return (
        ""
        if math.isfinite(high)
        else msg("The fastest simulated runs take {low}; some never get dry.", low=duration_text(low))
    )


def mass_text(mass: float, units: str = "us") -> str:
    """Return a mass in the unit a scale would show: oz or lb, g or kg.

    >>> mass_text(0.0907), mass_text(0.8), mass_text(0.8, "si"), mass_text(1.25, "si")
    ('3.2 oz', '1.8 lb', '800 g', '1.25 kg')
    """
    return show(mass, "mass", units)


def net_weight_text(mass: float, units: str = "us") -> str:
    """Return the net weight line of a label, with the digits that rules of trade ask for, in US custom in both units.

    >>> net_weight_text(0.0907), net_weight_text(0.0907, "si")
    ('Net wt 3.2 oz (91 g)', 'Net weight 91 g')
    """
    metric = show(mass, *_weighed(mass, "si"))
    if units != "us":
        return msg("Net weight {mass}", mass=metric)
    return msg("Net wt {mass} ({metric})", mass=show(mass, *_weighed(mass, "us")), metric=metric)


def _weighed(mass: float, units: str, finer: int = 0) -> tuple[str, str, int]:
    """Return as what a weight is shown that others are added to: kind, units, decimals."""
    if units == "us":
        return ("small mass", units, 1) if mass < POUND else ("mass", units, 2)
    if mass < 1.0:
        return ("fine mass", units, 1) if mass < 0.01 else ("small mass", units, 0)
    return "mass", units, 2 + finer


def water_back(dry: float, water: float, units: str = "us") -> tuple[str, str, str]:
    """Return dried food, water and the fresh food that they make, as shown: the first two as read add up to the third.

    Weights add up; the cups beside them are the nearest ones of a kitchen. In metric units the water is what is
    missing between the two weights as shown, in US custom the fresh food is the sum of the two weights as shown.

    dry: dried food [kg]
    water: to be added [kg]

    >>> water_back(0.2112, 0.6129, "si"), water_back(0.2112, 0.6129)
    (('211 g', '613 mL', '824 g'), ('7.4 oz', '1.35 lb (about 2 2/3 cups)', '1.8 lb'))
    """
    if units == "us":
        dried, weight = _weighed(dry, units), _weighed(water, units)
        cups = show(water / WATER_DENSITY, "volume", units)
        added = msg("{mass} (about {cups})", mass=show(water, *weight), cups=cups)
        return show(dry, *dried), added, mass_text(as_shown(dry, *dried) + as_shown(water, *weight), units)
    for finer in (0, 1):
        dried = _weighed(dry if dry + water < TENTHS_BELOW else max(dry, 0.01), units, finer)
        whole = _weighed(dry + water, units, finer)
        if dried[0] == "fine mass" and whole[0] == "small mass":
            whole = dried  # whole grams beside tenths would take up to half a gram from a few grams of water
        missing = max(as_shown(dry + water, *whole) - as_shown(dry, *dried), 0.0)
        if abs(missing - water) <= NEAR * water:
            break
    tenths = 1 if "fine mass" in (dried[0], whole[0]) else 0
    return show(dry, *dried), show(missing / WATER_DENSITY, "volume", units, tenths), show(dry + water, *whole)
