"""The only gate from written quantities to SI floats; the way back to a reader is `drystow.shown`."""

from datetime import date
from functools import cache, lru_cache
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.said import say

KINDS = {
    # kind: (SI unit in Pint's spelling, examples and word shown in error messages)
    "mass": ("kg", say("'1.8 lb', '800 g' or '12 oz'"), say("mass")),
    "length": ("m", say("'13 mm' or '0.5 inch'"), say("length")),
    "area": ("m^2", say("'0.15 m^2' or '230 inch^2'"), say("area")),
    "volume": ("m^3", say("'1 quart', '950 mL' or '3.1 L'"), say("volume")),
    "temperature": ("K", say("'-20 degC' or '40 degF'"), say("temperature")),
    "temperature difference": ("K", say("'5 K' or '9 delta_degF'"), say("temperature difference")),
    "pressure": ("Pa", say("'50 Pa' or '500 mTorr'"), say("pressure")),
    "time": ("s", say("'2 h', '90 min' or '1 day'"), say("time")),
    "power": ("W", say("'900 W' or '1.2 kW'"), say("power")),
    "energy": ("J", say("'1.3 kWh'"), say("energy")),
    "density": ("kg/m^3", say("'850 kg/m^3'"), say("density")),
    "conductivity": ("W/m/K", say("'0.03 W/m/K'"), say("conductivity")),
    "heat transfer": ("W/m^2/K", say("'15 W/m^2/K'"), say("heat transfer")),
    "heat conductance": ("W/K", say("'2 W/K'"), say("heat conductance")),
    "heat capacity": ("J/K", say("'9000 J/K'"), say("heat capacity")),
    "resistance": ("m/s", say("'1e4 m/s'"), say("resistance")),
    "resistance slope": ("1/s", say("'5e7 1/s'"), say("resistance slope")),
    "inverse length": ("1/m", say("'0 1/m'"), say("inverse length")),
    "vapour conductance": ("kg/s/Pa", say("'2e-5 kg/s/Pa'"), say("vapour conductance")),
    "pumping speed": ("m^3/s", say("'5 m^3/h'"), say("pumping speed")),
    "leak": ("Pa*m^3/s", say("'0.02 mbar*L/s'"), say("leak")),
    "water vapour transmission": ("kg/m^2/s", say("'0.02 g/m^2/day'"), say("water vapour transmission")),
    "fraction": ("dimensionless", say("'3 %' or '0.03'"), say("fraction")),
    "altitude": ("m", say("'1200 m' or '4000 ft'"), say("altitude")),
}


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)
    registry.define("mTorr = 0.133322368 * pascal")
    return registry


def parse(text: object, kind: str, field: str) -> float:
    """Return the SI value of a written quantity such as ``"13 mm"``.

    text: what the person wrote; a bare number is allowed only for fractions
    kind: one of `KINDS`
    field: name of the field, for the error message

    >>> round(parse("1/2 inch", "length", "size"), 5)
    0.0127
    """
    _, examples, word = KINDS[kind]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise InputError(
            field,
            say(
                "{text} is not a {kind}; write for example {examples}", text=_shown(text), kind=word, examples=examples
            ),
        )
    if isinstance(text, (int, float)):
        if kind == "fraction":
            return _finite(float(text), str(text), kind, field)
        raise InputError(field, _without_unit(str(text), word, examples))
    if len(text) > 80:
        raise InputError(
            field,
            say(
                "'{text}…' is too long for a {kind}; write for example {examples}",
                text=text[:20],
                kind=word,
                examples=examples,
            ),
        )
    return _finite(_convert(text, kind, field), text, kind, field)


def _shown(value: object) -> str:
    """Return a value as a person wrote it in a file."""
    return str(value) if isinstance(value, date) else repr(value)


def _without_unit(text: str, word: str, examples: str) -> str:
    return say(
        "{text} has no unit; write the {kind} with one, for example {examples}", text=text, kind=word, examples=examples
    )


@lru_cache(4096)
def _convert(text: str, kind: str, field: str) -> float:
    import pint

    unit, examples, word = KINDS[kind]

    registry = _registry()
    words = text.strip().replace("°", "deg").replace("%", " percent ")
    number, _, rest = _split_number(words)
    if number is None:
        raise InputError(
            field,
            say(
                "'{text}' does not begin with a number; write the {kind} as for example {examples}",
                text=text,
                kind=word,
                examples=examples,
            ),
        )
    if not rest and kind == "fraction":
        return number
    if not rest:
        raise InputError(field, _without_unit(f"'{text}'", word, examples))
    try:
        quantity = registry.Quantity(number, registry.parse_units(rest))
    except Exception:
        raise InputError(
            field,
            say(
                "'{text}' has an unknown unit '{unit}'; write for example {examples}",
                text=text,
                unit=rest,
                examples=examples,
            ),
        ) from None
    try:
        return float(quantity.to(registry.parse_units(unit)).magnitude)
    except pint.DimensionalityError:
        raise InputError(field, _other_kind(text, rest, word, examples)) from None


def _other_kind(text: str, unit: str, word: str, examples: str) -> str:
    if unit in ("C", "F"):
        return say(
            "'{text}' is not a {kind}: '{unit}' measures something else (for a temperature write degC or degF); "
            "write for example {examples}",
            text=text,
            unit=unit,
            kind=word,
            examples=examples,
        )
    return say(
        "'{text}' is not a {kind}: '{unit}' measures something else; write for example {examples}",
        text=text,
        unit=unit,
        kind=word,
        examples=examples,
    )


def _split_number(words: str) -> tuple[float | None, str, str]:
    import re

    match = re.match(
        r"\s*([-+−]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?|[-+−]?\.\d+)(?:\s*/\s*(\d+))?(?=\s|[A-Za-zµμ]|$)(.*)", words
    )
    if not match:
        return None, "", words
    value = float(match.group(1).replace("−", "-"))
    if match.group(2):
        if int(match.group(2)) == 0:
            return None, "", words
        value /= int(match.group(2))
    return value, match.group(1), match.group(3).strip()


def _finite(value: float, text: str, kind: str, field: str) -> float:
    if not abs(value) < 1e30:
        raise InputError(field, say("'{text}' is not a finite {kind}", text=text, kind=KINDS[kind][2]))
    if kind == "temperature" and value < 0:
        raise InputError(field, say("'{text}' is below absolute zero", text=text))
    return value


def celsius(kelvin: float) -> float:
    """Return a temperature [°C] from [K]."""
    return kelvin - ZERO_CELSIUS


def kelvin(celsius: float) -> float:
    """Return a temperature [K] from [°C]."""
    return celsius + ZERO_CELSIUS


def hours(seconds: float) -> float:
    """Return a time [h] from [s]."""
    return seconds / 3600.0
