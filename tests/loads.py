"""Small loads that several tests share: tables as a load file would give them."""

from typing import Any

from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load

WATERY = {"water": 0.85, "carbohydrate": 0.14, "sugars": 0.0, "fibre": 0.0, "ash": 0.01}
"""All parts are stated: what a label leaves out is imputed, and the arithmetic of these tests is worked by hand."""
FAST = {"R0": "1e2 m/s", "A1": "1e4 1/s", "A2": "0 1/m", "conductivity": "0.03 W/m/K"}
SLOW = {"R0": "1e2 m/s", "A1": "5e8 1/s", "A2": "0 1/m", "conductivity": "0.03 W/m/K"}


def tray(**changes: Any) -> dict[str, Any]:
    """A slab of a fruit-like food with a dried layer of its own, changed as wished."""
    layer = {"R0": "1e4 m/s", "A1": "5e7 1/s", "A2": "0 1/m", "conductivity": "0.03 W/m/K"}
    table = {
        "composition": WATERY,
        "class": "fruit",
        "mass": "1.0 kg",
        "shape": "slab",
        "size": "10 mm",
        "area": "0.1 m^2",
        "frozen": True,
        "start_temperature": "-30 degC",
        "dried_layer": layer,
        "heat": {"contact": "15 W/m^2/K", "above": "4 W/m^2/K", "frozen_conductivity": "2 W/m/K"},
    }
    table.update(changes)
    return table


def held(
    *trays: dict[str, Any],
    shelf: str | tuple[str, ...] = "20 degC",
    pressure: str = "40 Pa",
    upper: str | None = None,
    surroundings: str | None = None,
    air: str | None = None,
) -> Load:
    """Trays whose chamber pressure is held and whose shelf follows its program, or stays at one temperature."""
    dryer = {"pressure_mode": "held", "chamber_pressure": pressure, "upper_temperature": upper}
    dryer |= {"surroundings": surroundings, "air_pressure": air}
    program = {"shelf": list(shelf)} if isinstance(shelf, tuple) else {}
    dryer["shelf_temperature"] = None if program else shelf
    written = {name: value for name, value in dryer.items() if value is not None}
    return parse_load({"dryer": written, "program": program, "tray": list(trays)})


def machine(*trays: dict[str, Any], shelf: tuple[str, ...] = ("40 degC until dry",), **dryer: Any) -> Load:
    """Trays in the generic kitchen dryer."""
    return parse_load(
        {"dryer": {"profile": "kitchen-5", **dryer}, "program": {"shelf": list(shelf)}, "tray": list(trays)}
    )
