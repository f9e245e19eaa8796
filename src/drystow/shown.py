"""The only place where SI values become text for a reader."""

from drystow.constants import ZERO_CELSIUS
from drystow.said import say

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
    return say("{number} {unit}", number=number, unit=label)


def percent(share: float, decimals: int = 0) -> str:
    """Return a share [-] as text.

    >>> percent(0.62), percent(0.032, 1)
    ('62 %', '3.2 %')
    """
    return f"{share * 100.0:.{decimals}f} %"


def both(value: float, kind: str) -> str:
    """Return an SI value in both systems, for sentences that the engine writes.

    >>> both(250.15, "temperature")
    '-23 °C (-9 °F)'
    """
    label, factor, offset, _ = DISPLAY[kind]["si"]
    metric = f"{value * factor + offset:.0f} {label}" if kind == "temperature" else show(value, kind, "si")
    return say("{metric} ({us})", metric=metric, us=show(value, kind, "us"))
