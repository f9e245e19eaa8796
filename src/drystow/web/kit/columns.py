"""What people call the columns of records and the keys inside their values: the unit in a name is for programs."""

from drystow.foods.model import part_word
from drystow.messages import Translate
from drystow.web.kit.display_names import FIELD_NAMES, KEY_NAMES

UNITS = {
    # end of a column's name: word in its place
    "kg": "", "g": "", "m": "", "m3": "space", "c": "temperature", "pa": "pressure", "kwh": "", "h": "time",
    "min": "time", "days": "time",
}  # fmt: skip
BARE = ("protein_g",)
"""Nutrition figures: laws want them in grams everywhere."""

CALLED = {"tray_kg": "on one tray"}
"""Columns that are called otherwise than their name says."""


def column_words(name: str) -> str:
    """Return what a column is called, its unit apart.

    >>> column_words("mass_kg"), column_words("room_c"), column_words("temperature_c"), column_words("value_per_kg")
    ('Mass', 'Room temperature', 'Temperature', 'Value per kg')
    """
    words = CALLED.get(name, name)
    if words == name and (unit := unit_of(name)):
        what, more = name.removesuffix(f"_{unit}"), UNITS[unit]
        words = what if not more or what.endswith(more) else f"{what} {more}"
    return words[:1].upper() + words[1:].replace("_", " ")


def unit_of(name: str) -> str:
    """Return the unit at the end of a column's name, nothing where it has none or is a price of one."""
    what, _bar, unit = name.rpartition("_")
    return unit if what and unit in UNITS and not what.endswith("_per") and name not in BARE else ""


def key_words(key: str, translate: Translate) -> str:
    """Return what people call a key inside a value.

    translate: to the reader's language

    >>> key_words("mass_kg", str), key_words("fibre", str), key_words("freeze_to", str), key_words("last_day", str)
    ('weight', 'fiber', 'Frozen to', 'last day')
    """
    spaced = key.replace("_", " ")
    named = KEY_NAMES.get(key) or FIELD_NAMES.get(spaced[:1].upper() + spaced[1:])
    if key in KEY_NAMES or part_word(key) != key:
        return translate(named or part_word(key))
    words = translate(named or column_words(key))
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]
