"""Between the rows of machine tests and the engine."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_noop as later

from drystow.evidence.band import Band
from drystow.evidence.machine_tests.ice_test import IceTray, ice_test
from drystow.evidence.machine_tests.leak_test import leak_test
from drystow.evidence.machine_tests.outcome import CAUTIONS, MachineFinding
from drystow.evidence.machine_tests.power_test import power_test
from drystow.evidence.machine_tests.pump_test import pump_test
from drystow.figures import formatted, typed
from drystow.machine.profile import Dryer as Machine
from drystow.messages import msg
from drystow.packing.oxygen import pressure_at_altitude
from drystow.reports.dryness_chart import TrendPoint, trend_picture
from drystow.shown import DISPLAY, show, to_display
from drystow.web.dryers.adapters import MAIN_NUMBERS
from drystow.web.dryers.models import Dryer, MachineTest
from drystow.web.kit.drawing import Drawing, drawing_of
from drystow.web.kit.reader import reader

VALUE_WORDS = {
    "leak": later("Air leak"),
    "vapour": later("Water vapor at the start"),
    "level": later("Pressure rise from vapor"),
    "speed": later("Pump speed"),
    "end": later("Lowest pressure"),
    "compressor": later("Compressor"),
    "pump": later("Vacuum pump"),
    "mean": later("Heat transfer, average of the trays"),
    "expected": later("Heat transfer used so far"),
}
"""What each measured value is called."""

NUMBER_WORDS = MAIN_NUMBERS | {
    "contact_constant": later("Heat transfer to the tray without gas"),
    "contact_gas": later("Its rise with pressure"),
}

KINDS_OF = {
    "leak": "leak", "vapour": "leak", "speed": "pumping speed", "level": "pressure", "end": "pressure",
    "compressor": "power", "pump": "power",
}  # fmt: skip
"""Kinds of the measured values, as they are shown; the others are heat transfers."""

TREND = {"leak": "leak", "pump": "speed", "ice": "mean", "power": "pump"}
"""The value of each kind of test that is followed over time."""


@dataclass(frozen=True)
class ShownValue:
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
    """Return the pressure of the air at the kitchen [Pa]."""
    return float(pressure_at_altitude(altitude))


def values_json(finding: MachineFinding) -> dict[str, list[float]]:
    """Return the values of a finding as a test keeps them."""
    return {name: [band.low, band.middle, band.high] for name, band in finding.values.items()}


def shown_values(values: dict[str, list[float]], units: str) -> list[ShownValue]:
    """Return the values of a test as people read them."""
    rows = []
    for name, three in values.items():
        low, middle, high = (_text(name, value, units) for value in three)
        words = msg("Tray {number}", number=name.split()[-1]) if name.startswith("tray ") else VALUE_WORDS[name]
        rows.append(ShownValue(words, middle, low, high))
    return rows


def numbers_view(finding: MachineFinding, units: str) -> list[tuple[str, str]]:
    """Return the numbers of the machine that a test measured, with their names."""
    names = {"pump_speed": "speed", "ultimate_pressure": "end", "contact_constant": "mean",
             "compressor_power": "compressor", "pump_power": "pump"}  # fmt: skip
    return [
        (NUMBER_WORDS[name], _plain(value) if name == "contact_gas" else _text(names.get(name, name), value, units))
        for name, value in finding.numbers.items()
    ]


def measured_numbers(finding: MachineFinding) -> dict[str, float]:
    """Return the measured numbers as a dryer keeps its own."""
    return {name: float(typed(value, 4)) for name, value in finding.numbers.items()}


def cautions_of(kind: str) -> tuple[str, ...]:
    """Return the cautions that belong to the steps of a test."""
    return CAUTIONS[kind]


def trend_of(kind: str, rows: Iterable[MachineTest], units: str) -> Drawing | None:
    """Return the picture of a value over the tests of one kind, None for fewer than two."""
    name = TREND[kind]
    kind = _kind(name)
    points = [
        TrendPoint(row.on, *(to_display(value, kind, units) for value in row.values[name]))
        for row in rows
        if name in row.values
    ]
    if len(points) < 2:
        return None
    return drawing_of(trend_picture(msg(VALUE_WORDS[name]), DISPLAY[kind][units][0], sorted(points)))


def _kind(name: str) -> str:
    return KINDS_OF.get(name, "heat transfer")


def _text(name: str, value: float, units: str) -> str:
    return show(value, _kind(name), units)


def _plain(value: float) -> str:
    return formatted(value, ".3g", reader().signs)
