"""The only gate between written quantities and SI floats."""

from functools import cache
from typing import Any

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError

KINDS = {
    # kind: (SI unit in Pint's spelling, examples shown in error messages)
    "mass": ("kg", "'1.8 lb', '800 g' or '12 oz'"),
    "length": ("m", "'13 mm' or '0.5 inch'"),
    "area": ("m^2", "'0.15 m^2' or '230 inch^2'"),
    "volume": ("m^3", "'1 quart', '950 mL' or '3.1 L'"),
    "temperature": ("K", "'-20 degC' or '40 degF'"),
    "temperature difference": ("K", "'5 K' or '9 delta_degF'"),
    "pressure": ("Pa", "'50 Pa' or '500 mTorr'"),
    "time": ("s", "'2 h', '90 min' or '1 day'"),
    "power": ("W", "'900 W' or '1.2 kW'"),
    "energy": ("J", "'1.3 kWh'"),
    "density": ("kg/m^3", "'850 kg/m^3'"),
    "conductivity": ("W/m/K", "'0.03 W/m/K'"),
    "heat transfer": ("W/m^2/K", "'15 W/m^2/K'"),
    "heat conductance": ("W/K", "'2 W/K'"),
    "heat capacity": ("J/K", "'9000 J/K'"),
    "resistance": ("m/s", "'1e4 m/s'"),
    "resistance slope": ("1/s", "'5e7 1/s'"),
    "inverse length": ("1/m", "'0 1/m'"),
    "vapour conductance": ("kg/s/Pa", "'2e-5 kg/s/Pa'"),
    "pumping speed": ("m^3/s", "'5 m^3/h'"),
    "leak": ("Pa*m^3/s", "'0.02 mbar*L/s'"),
    "water vapour transmission": ("kg/m^2/s", "'0.02 g/m^2/day'"),
    "fraction": ("dimensionless", "'3 %' or '0.03'"),
    "altitude": ("m", "'1200 m' or '4000 ft'"),
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
    unit, examples = KINDS[kind]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise InputError(field, f"{text!r} is not a {kind}; write for example {examples}")
    if isinstance(text, (int, float)):
        if kind == "fraction":
            return _finite(float(text), str(text), kind, field)
        raise InputError(field, f"{text!r} has no unit; write the {kind} with one, for example {examples}")
    if len(text) > 80:
        raise InputError(field, f"'{text[:20]}…' is too long for a {kind}; write for example {examples}")
    return _finite(_convert(text, unit, kind, examples, field), text, kind, field)


def _convert(text: str, unit: str, kind: str, examples: str, field: str) -> float:
    import pint

    registry = _registry()
    words = text.strip().replace("°", "deg").replace("%", " percent ")
    number, _, rest = _split_number(words)
    if number is None:
        raise InputError(field, f"'{text}' does not begin with a number; write the {kind} as for example {examples}")
    if not rest and kind == "fraction":
        return number
    if not rest:
        raise InputError(field, f"'{text}' has no unit; write the {kind} with one, for example {examples}")
    try:
        quantity = registry.Quantity(number, registry.parse_units(rest))
    except Exception:
        raise InputError(field, f"'{text}' has an unknown unit '{rest}'; write for example {examples}") from None
    try:
        return float(quantity.to(registry.parse_units(unit)).magnitude)
    except pint.DimensionalityError:
        hint = " (for a temperature write degC or degF)" if rest in ("C", "F") else ""
        raise InputError(
            field, f"'{text}' is not a {kind}: '{rest}' measures something else{hint}; write for example {examples}"
        ) from None


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
        raise InputError(field, f"'{text}' is not a finite {kind}")
    if kind == "temperature" and value < 0:
        raise InputError(field, f"'{text}' is below absolute zero")
    return value


DISPLAY = {
    # kind: {system: (unit label, factor from SI, offset after the factor, decimals)}
    "mass": {"us": ("lb", 2.2046226, 0.0, 2), "si": ("kg", 1.0, 0.0, 2)},
    "small mass": {"us": ("oz", 35.273962, 0.0, 1), "si": ("g", 1000.0, 0.0, 0)},
    "length": {"us": ("in", 39.370079, 0.0, 2), "si": ("mm", 1000.0, 0.0, 0)},
    "area": {"us": ("in²", 1550.0031, 0.0, 0), "si": ("m²", 1.0, 0.0, 3)},
    "volume": {"us": ("cups", 4226.7528, 0.0, 2), "si": ("mL", 1e6, 0.0, 0)},
    "temperature": {"us": ("°F", 1.8, -459.67, 0), "si": ("°C", 1.0, -ZERO_CELSIUS, 1)},
    "temperature difference": {"us": ("°F", 1.8, 0.0, 0), "si": ("K", 1.0, 0.0, 1)},
    "pressure": {"us": ("mTorr", 7.50061683, 0.0, 0), "si": ("Pa", 1.0, 0.0, 1)},
    "time": {"us": ("h", 1 / 3600, 0.0, 1), "si": ("h", 1 / 3600, 0.0, 1)},
    "energy": {"us": ("kWh", 1 / 3.6e6, 0.0, 1), "si": ("kWh", 1 / 3.6e6, 0.0, 1)},
    "power": {"us": ("W", 1.0, 0.0, 0), "si": ("W", 1.0, 0.0, 0)},
    "fraction": {"us": ("%", 100.0, 0.0, 1), "si": ("%", 100.0, 0.0, 1)},
    "mass flow": {"us": ("lb/h", 7936.6414, 0.0, 2), "si": ("kg/h", 3600.0, 0.0, 2)},
    "altitude": {"us": ("ft", 3.2808399, 0.0, 0), "si": ("m", 1.0, 0.0, 0)},
}


def to_display(value: float, kind: str, system: str = "us") -> float:
    """Return an SI value in the display unit of `kind` in system ``us`` or ``si``."""
    _, factor, offset, _ = DISPLAY[kind][system]
    return value * factor + offset


def show(value: float | None, kind: str, system: str = "us") -> str:
    """Return an SI value as text with its unit; a missing value as a dash.

    >>> show(253.15, "temperature", "us"), show(0.0127, "length", "si")
    ('-4 °F', '13 mm')
    """
    if value is None:
        return "–"
    label, factor, offset, decimals = DISPLAY[kind][system]
    number = f"{value * factor + offset:.{decimals}f}"
    if float(number) == 0:
        number = number.replace("-", "")
    return f"{number} {label}" if label != "%" else f"{number}{label}"


def both(value: float, kind: str) -> str:
    """Return an SI value in both systems, for sentences that the engine writes.

    >>> both(250.15, "temperature")
    '-23 °C (-9 °F)'
    """
    label, factor, offset, _ = DISPLAY[kind]["si"]
    metric = f"{value * factor + offset:.0f} {label}" if kind == "temperature" else show(value, kind, "si")
    return f"{metric} ({show(value, kind, 'us')})"


def celsius(kelvin: float) -> float:
    """Return a temperature [°C] from [K]."""
    return kelvin - ZERO_CELSIUS


def kelvin(celsius: float) -> float:
    """Return a temperature [K] from [°C]."""
    return celsius + ZERO_CELSIUS


def hours(seconds: float) -> float:
    """Return a time [h] from [s]."""
    return seconds / 3600.0
