"""Tests of the machine against worked cases from outside and arithmetic by hand."""

import numpy as np
import pytest

from drystow.errors import InputError
from drystow.evidence.band import Band
from drystow.evidence.machine_tests.ice_test import IceTray, contact_transfer, ice_test
from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE, leak_test
from drystow.evidence.machine_tests.power_test import power_test
from drystow.evidence.machine_tests.pump_test import pump_test
from drystow.machine.profile import dryer_profile
from drystow.numerics import Array

KITCHEN = dryer_profile("kitchen-5")
MINUTES: Array = 60.0 * np.arange(0.0, 31.0, 3.0)


def inside(band: Band, value: float) -> bool:
    return band.low <= value <= band.high


def test_leak_of_the_reference_is_four_pascal_a_minute_in_thirty_litres() -> None:
    """2e-2 mbar L/s in 30 L rises by 4.0 Pa/min: Q = V dp/dt (leak-reference, vacuum-formulas)."""
    found = leak_test(MINUTES, 10.0 + 4.0 / 60.0 * MINUTES, 0.030, resolution=0.1)
    assert found.values["leak"].middle == pytest.approx(2e-3, rel=0.03)
    assert inside(found.values["leak"], LEAK_REFERENCE)


def test_vapour_that_levels_off_is_no_leak() -> None:
    """Ice at -30 °C fills the chamber towards its 38.0 Pa (Murphy and Koop's table, murphy2005) without any leak."""
    seen = 5.0 + 33.0 * (1.0 - np.exp(-MINUTES / 300.0))
    found = leak_test(MINUTES, seen, 0.080, resolution=0.5, ice=243.15)
    assert found.verdict == "good"
    assert found.values["level"].middle == pytest.approx(33.0, rel=0.1)
    assert "water vapor" in found.words
    assert any("38 Pa" in note for note in found.notes)


def test_leak_and_vapour_together_are_told_apart() -> None:
    leak = 5e-3  # Pa m3/s in 80 L: 3.75 Pa/min
    seen = 5.0 + leak / 0.080 * MINUTES + 30.0 * (1.0 - np.exp(-MINUTES / 240.0))
    found = leak_test(MINUTES, np.round(seen), 0.080, resolution=1.0)
    assert inside(found.values["leak"], leak)
    assert found.values["leak"].middle == pytest.approx(leak, rel=0.15)
    assert found.verdict == "bad"
    assert any("gasket" in line for line in found.to_do)


def test_two_readings_give_only_the_most_it_can_be() -> None:
    found = leak_test([0.0, 600.0], [10.0, 50.0], 0.030)
    assert found.values["leak"].low == 0.0
    assert found.values["leak"].high >= 0.030 * 40.0 / 600.0
    assert any("can't tell air from water vapor" in note for note in found.notes)


def test_pump_speed_of_the_worked_example() -> None:
    """A sizing page: 1000 m3 from 1013 to 200 mbar in 10 min takes 160 m3/min by t = (V/S) ln(p0/p1)."""
    speed = 160.0 / 60.0  # m3/s, for a chamber a ten-thousandth that size: 0.1 m3 and as much slower
    times = np.array([150.0, 300.0, 450.0, 600.0])
    seen = 101300.0 * np.exp(-speed / 1000.0 * times)
    assert seen[-1] == pytest.approx(200e2, rel=0.03)  # the page prints three digits
    found = pump_test(times, seen, 0.1, KITCHEN, start=101300.0)
    assert found.values["speed"].middle == pytest.approx(speed * 1e-4, rel=0.02)
    assert inside(found.values["speed"], speed * 1e-4)


def pumping(speed: float, end: float, volume: float = 0.080) -> tuple[Array, Array]:
    times = np.arange(60.0, 1500.0, 120.0)
    return times, end + (101325.0 - end) * np.exp(-speed / volume * times)


def test_a_sound_pump_is_good_and_gives_its_numbers_back() -> None:
    found = pump_test(*pumping(KITCHEN.pump_speed, KITCHEN.air_pressure), 0.080, KITCHEN)
    assert found.verdict == "good"
    assert found.numbers["pump_speed"] == pytest.approx(KITCHEN.pump_speed, rel=0.02)
    assert found.numbers["ultimate_pressure"] == pytest.approx(KITCHEN.ultimate_pressure, rel=0.1)


def test_tired_oil_and_a_leak_are_told_apart_by_the_leak_test() -> None:
    readings = pumping(KITCHEN.pump_speed, 40.0)
    alone = pump_test(*readings, 0.080, KITCHEN)
    tight = pump_test(*readings, 0.080, KITCHEN, leak=Band(0.0, 1e-4, 2e-4))
    leaky = pump_test(*readings, 0.080, KITCHEN, leak=Band(0.07, 0.08, 0.09))  # 0.08/0.00222 = 36 Pa, by hand
    assert any("Do the leak test" in line for line in alone.to_do)
    assert any("Change the pump oil, run" in line for line in tight.to_do)
    assert any("Fix the leak" in line for line in leaky.to_do)


def test_a_slow_pump_is_named() -> None:
    found = pump_test(*pumping(0.4 * KITCHEN.pump_speed, 5.0), 0.080, KITCHEN)
    assert found.verdict == "watch"
    assert any("slow" in line for line in found.to_do)


def test_contact_heat_transfer_by_hand() -> None:
    """0.2 kg x 2.838 MJ/kg = 567.6 kJ in 4 h = 39.4 W on 0.16 m2: 246.4 W/m2; ice at 60 Pa is at -25.5 °C (murphy2005:
    63.28 Pa at -25 °C, 38.01 Pa at -30 °C). Shelf 0 °C without heat from above: 25.5 K, less 246.4 x 6.13 mm / 2.24 =
    0.67 K through the ice: 246.4 / 24.83 = 9.92."""
    got = contact_transfer(IceTray(1, 1.0, 0.8, 0.16), 4 * 3600.0, 273.15, 60.0, 0.0)
    assert got == pytest.approx(9.92, rel=0.005)


def test_the_ice_test_finds_the_transfer_that_made_the_loss() -> None:
    """Energy balance backwards: a profile's own number, 14.1 W/m2K at 60 Pa, loses what its heat can turn to vapour."""
    expected = KITCHEN.contact_constant + KITCHEN.contact_gas * 60.0 / (1 + KITCHEN.contact_saturation * 60.0)
    drop = 25.5  # shelf at 0 °C, ice at 60 Pa by the table above
    heat = expected * drop / (1 + expected * 0.0062 / 2.24) + KITCHEN.above * drop
    lost = heat * 0.16 * 4 * 3600.0 / 2.838e6
    trays = [IceTray(number, 1.0, 1.0 - lost, 0.16) for number in (1, 2, 3)]
    found = ice_test(trays, 4 * 3600.0, 273.15, 60.0, KITCHEN)
    assert found.values["mean"].middle == pytest.approx(expected, rel=0.03)
    assert inside(found.values["mean"], expected)
    assert found.verdict == "good"
    assert found.numbers["contact_constant"] == pytest.approx(KITCHEN.contact_constant, rel=0.03)


def test_an_uneven_position_and_a_wrong_number_are_named() -> None:
    trays = [IceTray(number, 1.0, 0.7 if number == 5 else 0.8, 0.16) for number in range(1, 6)]
    found = ice_test(trays, 4 * 3600.0, 273.15, 60.0, KITCHEN)
    assert any("Tray position 5 differs" in line for line in found.to_do)
    assert any("Less heat gets in" in line for line in found.to_do)
    assert found.values["tray 1"].low < found.values["tray 1"].middle < found.values["tray 1"].high


def test_power_is_the_difference_of_readings() -> None:
    found = power_test(20.0, 710.0, 1130.0, KITCHEN.refrigeration_reference, KITCHEN)
    assert found.values["compressor"].middle == pytest.approx(690.0)
    assert found.values["pump"].middle == pytest.approx(420.0)
    assert found.verdict == "good"


def test_a_thirsty_pump_and_a_weak_refrigerator_are_named() -> None:
    found = power_test(20.0, 400.0, 1200.0, KITCHEN.refrigeration_reference, KITCHEN)
    assert found.verdict == "watch"
    assert any("exhaust filter" in line for line in found.to_do)
    assert any("lost refrigerant" in line for line in found.to_do)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: leak_test([0.0, 0.0], [1.0, 2.0], 0.03), "must go up"),
        (lambda: leak_test([0.0], [1.0], 0.03), "at least two"),
        (lambda: pump_test([1, 2, 3, 4], [5, 6, 7, 8], 0.08, KITCHEN), "does not fall"),
        (lambda: pump_test([1, 2], [9, 8], 0.08, KITCHEN), "at least 4"),
        (lambda: ice_test([IceTray(1, 1.0, 0.2, 0.16)], 4e4, 273.15, 60.0, KITCHEN), "change the hours"),
        (lambda: ice_test([IceTray(1, 1.0, 1.1, 0.16)], 4e4, 273.15, 60.0, KITCHEN), "weigh less after"),
        (lambda: power_test(100.0, 50.0, 70.0, 240.0, KITCHEN), "higher than the one before"),
    ],
)
def test_impossible_readings_say_what_to_do(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()  # type: ignore[operator]
