"""Between the rows of machine tests and the engine."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_noop as later

from drystow.evidence.band import Band
from drystow.evidence.ice_test import IceTray, ice_test
from drystow.evidence.leak_test import MBAR_L, leak_test
from drystow.evidence.machine_tests import CAUTIONS, MachineFinding
from drystow.evidence.power_test import power_test
from drystow.evidence.pump_test import pump_test
from drystow.machine.profile import Dryer as Machine
from drystow.packing.oxygen import pressure_at_altitude
from drystow.reports.trend_chart import TrendPoint, trend_picture
from drystow.said import say
from drystow.shown import DISPLAY, to_display
from drystow.web.dryers.adapters import MAIN_NUMBERS
from drystow.web.dryers.models import Dryer, MachineTest
from drystow.web.site.drawing import Drawing, drawing_of

VALUE_WORDS = {
    "leak": later("Air leaking in"),
    "vapour": later("Water vapour at the beginning"),
    "level": later("Pressure that vapour rose by"),
    "speed": later("Speed of the pump"),
    "end": later("Lowest pressure"),
    "compressor": later("Refrigerator"),
    "pump": later("Vacuum pump"),
    "mean": later("Heat transfer, mean of the trays"),
    "expected": later("Heat transfer used so far"),
}
"""What each measured value is called."""

NUMBER_WORDS = MAIN_NUMBERS | {
    "contact_constant": later("Heat transfer to the tray without gas"),
    "contact_gas": later("Its rise with the pressure"),
}

WRITTEN = {
    "leak": "Pa*m^3/s", "pump_speed": "m^3/s", "ultimate_pressure": "Pa", "contact_constant": "W/m^2/K",
    "compressor_power": "W", "pump_power": "W",
}  # fmt: skip
"""Units in which a measured number is written into the numbers of a dryer; bare numbers are missing here."""

TREND = {"leak": "leak", "pump": "speed", "ice": "mean", "power": "pump"}
"""The value of each kind of test that is followed over time."""


@dataclass(frozen=True)
class Shown:
    """One value of a test, as people read it.

    words: its name
    middle: most likely, with its unit
    low: least
    high: most
    """

    words: str
    middle: str
    low: str
    high: str


def finding_of(kind: str, readings: dict[str, Any], machine: Machine, leak: Band | None = None) -> MachineFinding:
    """Return what readings say about a machine; raises `InputError` when they cannot be.

    kind: leak, pump, ice or power
    readings: as a test keeps them, SI
    machine: with the numbers used so far
    leak: from the last leak test, for the pump-down
    """
    if kind == "leak":
        return leak_test(
            readings["times"], readings["pressures"], machine.chamber_volume,
            resolution=readings["resolution"], ice=readings.get("ice"),
        )  # fmt: skip
    if kind == "pump":
        return pump_test(
            readings["times"], readings["pressures"], machine.chamber_volume, machine,
            start=readings["start"], leak=leak,
        )  # fmt: skip
    if kind == "ice":
        trays = [
            IceTray(position, before, after, machine.tray_area, readings["resolution"])
            for position, before, after in readings["trays"]
        ]
        return ice_test(trays, readings["duration"], readings["shelf"], readings["pressure"], machine)
    return power_test(readings["idle"], readings["cooling"], readings["running"], readings["trap"], machine)


def last_leak(dryer: Dryer) -> Band | None:
    """Return the leak that was measured last, None when there is none."""
    row = MachineTest.objects.kept().filter(dryer=dryer, kind="leak").first()
    return Band(*row.values["leak"]) if row is not None and "leak" in row.values else None


def air_pressure(altitude: float) -> float:
    """Return the pressure of the air at the house [Pa]."""
    return float(pressure_at_altitude(altitude))


def values_json(finding: MachineFinding) -> dict[str, list[float]]:
    """Return the values of a finding as a test keeps them."""
    return {name: [band.low, band.middle, band.high] for name, band in finding.values.items()}


def shown_values(values: dict[str, list[float]], units: str) -> list[Shown]:
    """Return the values of a test as people read them."""
    rows = []
    for name, three in values.items():
        low, middle, high = (_text(name, value, units) for value in three)
        words = say("Tray {number}", number=name.split()[-1]) if name.startswith("tray ") else VALUE_WORDS[name]
        rows.append(Shown(words, middle, low, high))
    return rows


def numbers_shown(finding: MachineFinding, units: str) -> list[tuple[str, str]]:
    """Return the numbers of the machine that a test measured, with their names."""
    names = {"pump_speed": "speed", "ultimate_pressure": "end", "contact_constant": "mean",
             "compressor_power": "compressor", "pump_power": "pump"}  # fmt: skip
    return [
        (NUMBER_WORDS[name], f"{value:.3g}" if name == "contact_gas" else _text(names.get(name, name), value, units))
        for name, value in finding.numbers.items()
    ]


def written_numbers(finding: MachineFinding) -> dict[str, Any]:
    """Return the measured numbers as a dryer keeps its own."""
    return {
        name: f"{value:.4g} {WRITTEN[name]}" if name in WRITTEN else float(f"{value:.4g}")
        for name, value in finding.numbers.items()
    }


def cautions_of(kind: str) -> tuple[str, ...]:
    """Return the cautions that belong to the steps of a test."""
    return CAUTIONS[kind]


def trend_of(kind: str, rows: Iterable[MachineTest], units: str) -> Drawing | None:
    """Return the picture of a value over the tests of one kind, None for fewer than two."""
    name = TREND[kind]
    points = [
        TrendPoint(row.on, *(_display(name, value, units)[0] for value in row.values[name]))
        for row in rows
        if name in row.values
    ]
    if len(points) < 2:
        return None
    return drawing_of(trend_picture(say(VALUE_WORDS[name]), _display(name, 0.0, units)[1], sorted(points)))


def _display(name: str, value: float, units: str) -> tuple[float, str]:
    if name in ("leak", "vapour"):
        return value / MBAR_L, "mbar·L/s"
    if name == "speed":
        return value * 3600.0, "m³/h"
    if name in ("level", "end"):
        return to_display(value, "pressure", units), DISPLAY["pressure"][units][0]
    return (value, "W") if name in ("compressor", "pump") else (value, "W/m²K")


def _text(name: str, value: float, units: str) -> str:
    number, unit = _display(name, value, units)
    return say("{number:.3g} {unit}", number=number, unit=unit)
