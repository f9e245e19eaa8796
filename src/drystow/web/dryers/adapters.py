"""Between the rows of dryers and batches and the engine: the machine, its running hours, what runs taught."""

from django.utils.translation import gettext_noop as later

from drystow.figures import formatted
from drystow.machine import profile
from drystow.ranges import RANGES
from drystow.shown import show
from drystow.sources import Source, cite
from drystow.web.kit.reader import reader
from drystow.web.kit.words import in_words

MAIN_NUMBERS = {
    # field of the machine: words
    "trays": later("Number of trays"),
    "tray_area": later("Area of one tray"),
    "rim_height": later("Height of the tray rim"),
    "heater_power": later("Heaters, all shelves together"),
    "shelf_highest": later("Warmest shelf setting"),
    "pressure_limit": later("Pressure limit (heaters pause above it)"),
    "trap_capacity": later("Ice the cold trap holds"),
    "trap_floor": later("Coldest trap temperature"),
    "chamber_volume": later("Chamber volume"),
    "compressor_power": later("Power draw of the compressor"),
    "pump_power": later("Power draw of the vacuum pump"),
    "pump_speed": later("Vacuum pump speed"),
    "ultimate_pressure": later("Lowest pressure, empty and dry"),
    "leak": later("Air leak"),
    "room": later("Room temperature"),
}


def dryer_in_words(name: str) -> str:
    """Return what a dryer is called on a page: one without a name of its own by the words of its starting numbers.

    name: its own, or that of its starting numbers, several of a kind numbered
    """
    kind, _, number = name.partition(" ")
    if kind not in profile.profile_names():
        return name
    words = in_words(profile.dryer_profile(kind).words)
    return f"{words} ({number})" if number else words


def shown_numbers(machine: profile.Dryer, system: str) -> dict[str, str]:
    """Return the main numbers of a machine as text in a unit system."""
    return {name: _shown(name, getattr(machine, name), system) for name in MAIN_NUMBERS}


def _shown(name: str, value: float, system: str) -> str:
    kind = RANGES["dryer"][name].kind
    if kind == "volume":
        return show(value, "large volume", system)
    return show(value, kind, system) if kind else formatted(value, "g", reader().signs)


def leak_source() -> Source:
    """Return where the reference for leaks comes from."""
    return cite("leak-reference")
