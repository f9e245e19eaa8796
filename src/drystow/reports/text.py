"""Small pieces of wording shared by labels, sheets and screens."""

import unicodedata
from datetime import date

from drystow.said import Translate, english, say, told
from drystow.serving.rehydration import WATER_DENSITY
from drystow.shown import as_shown, show

MONTHS = (
    say("Jan"), say("Feb"), say("Mar"), say("Apr"), say("May"), say("Jun"),
    say("Jul"), say("Aug"), say("Sep"), say("Oct"), say("Nov"), say("Dec"),
)  # fmt: skip
POUND = 0.45359237  # kg

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


def date_text(day: date) -> str:
    """Return a date that nobody can read the wrong way round.

    >>> from datetime import date
    >>> date_text(date(2027, 3, 4))
    '4 Mar 2027'
    """
    return say("{day} {month} {year}", day=day.day, month=MONTHS[day.month - 1], year=str(day.year))


def duration_text(seconds: float) -> str:
    """Return a time span as a cook says it.

    >>> duration_text(97200), duration_text(2700), duration_text(86400), duration_text(41)
    ('1 d 3 h', '45 min', '1 d', '40 s')
    """
    if 0 < seconds < 57.5:
        return f"{max(5, 5 * round(seconds / 5))} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 10 * 60:
        return _two_parts(minutes, 60, "h", "min")
    return _two_parts(round(minutes / 60), 24, "d", "h")


def _two_parts(count: int, size: int, large: str, small: str) -> str:
    whole, rest = divmod(count, size)
    parts = [f"{whole} {large}"] * bool(whole) + [f"{rest} {small}"] * bool(rest)
    return " ".join(parts)


def mass_text(mass: float, units: str = "us") -> str:
    """Return a mass in the unit a scale would show: oz or lb, g or kg.

    >>> mass_text(0.0907), mass_text(0.8), mass_text(0.8, "si"), mass_text(1.25, "si")
    ('3.2 oz', '1.76 lb', '800 g', '1.25 kg')
    """
    return show(mass, _mass_kind(mass, units), units)


def _mass_kind(mass: float, units: str) -> str:
    if units == "us":
        return "mass" if mass >= POUND else "small mass"
    if 0 < mass < 0.01:
        return "fine mass"
    return "mass" if mass >= 1.0 else "small mass"


def net_weight_text(mass: float, units: str = "us") -> str:
    """Return the net weight line of a label, in US custom both ounces and grams.

    >>> net_weight_text(0.0907), net_weight_text(0.0907, "si")
    ('Net wt 3.2 oz (91 g)', 'Net weight 91 g')
    """
    if units == "us":
        return say("Net wt {mass} ({metric})", mass=mass_text(mass, "us"), metric=mass_text(mass, "si"))
    return say("Net weight {mass}", mass=mass_text(mass, "si"))


def water_back(dry: float, water: float, units: str = "us") -> tuple[str, str, str]:
    """Return dried food, water and the fresh food that they make, as shown: the first two as read add up to the third.

    dry: dried food [kg]
    water: to be added [kg]; shown is what is missing between the two weights as shown

    >>> water_back(0.2112, 0.6129, "si"), water_back(0.2112, 0.6129)
    (('211 g', '613 mL', '824 g'), ('7.4 oz', '2.60 cups', '1.82 lb'))
    """
    first, total = _mass_kind(dry, units), _mass_kind(dry + water, units)
    missing = max(as_shown(dry + water, total, units) - as_shown(dry, first, units), 0.0)
    tenths = 1 if units == "si" and "fine mass" in (first, total) else None
    return (
        show(dry, first, units),
        show(missing / WATER_DENSITY, "volume", units, tenths),
        show(dry + water, total, units),
    )
