"""The batch file: every kind of evidence in SI units, times on one clock, trays of several items."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid
from scipy.stats import norm

from drystow.errors import InputErrors
from drystow.evidence.dryness.batch_file import BatchSpec, parse_batch
from drystow.evidence.dryness.judge import DrynessQuestion, judge
from drystow.evidence.dryness.observed import CutPiece
from drystow.evidence.dryness.weighings import information

HOUR = 3600.0
TEXT = """
title = "Alder Lane Kitchen, two foods on one tray"
[load.dryer]
profile = "bench-4"
[load.program]
shelf = ["45 degC until dry"]
[[load.tray]]
food = "Carrots, raw"
mass = "400 g"
size = "8 mm"
area = "0.05 m^2"
[[load.tray]]
food = "Apples, raw, without skin"
mass = "300 g"
size = "8 mm"
area = "0.05 m^2"
[run]
drying_began = 2026-03-14T20:00:00
now = 2026-03-15T18:00:00
trays = [[2, 1]]
[[weighing]]
tray = 1
time = 2026-03-15T16:00:00
gross = "1.5 lb"
tare = "600 g"
resolution = "0.5 g"
outside = "3 min"
[[oven_sample]]
tray = 1
time = "21 h"
before = "5.00 g"
after = "4.85 g"
[[activity]]
tray = 1
time = "21 h"
activity = 0.12
[[probe]]
tray = 1
time = "20 h"
product = "40 degC"
shelf = "104 degF"
[[pressure_rise]]
time = "20 h"
duration = "30 s"
before = "100 mTorr"
after = "15 Pa"
[[pressure]]
time = "20 h"
pressure = "0.13 mbar"
[[power]]
time = "20 h"
power = "0.6 kW"
[[cut]]
tray = 1
time = "21.5 h"
finding = "cold"
"""


def batch(text: str = TEXT) -> BatchSpec:
    return parse_batch(tomllib.loads(text), Path())


def test_every_kind_of_evidence_is_read_in_si_units() -> None:
    read = batch()
    seen = read.evidence
    (weighed,), (sample,), (reading,), (probe,), (rise,) = (
        seen.weighed, seen.samples, seen.activities, seen.probes, seen.rises,
    )  # fmt: skip
    assert read.now == 22 * HOUR
    assert read.groups == ((1, 0),)
    assert weighed.time == 20 * HOUR
    assert weighed.gross == pytest.approx(1.5 * 0.45359237)  # definition of the pound
    assert (weighed.tare, weighed.resolution, weighed.outside) == pytest.approx((0.6, 0.0005, 180.0))
    assert (sample.before, sample.after, sample.resolution) == pytest.approx((0.005, 0.00485, 1e-5))
    assert (reading.activity, reading.error) == (0.12, 0.015)
    assert probe.product == pytest.approx(313.15)
    assert probe.shelf == pytest.approx(313.15)  # 104 °F are 40 °C, definition
    assert rise.before == pytest.approx(13.33, abs=0.01)  # 100 mTorr, definition
    assert (rise.duration, rise.after) == pytest.approx((30.0, 15.0))
    assert seen.pressures[0].pressure == pytest.approx(13.0)
    assert seen.powers[0].power == pytest.approx(600.0)
    assert seen.cuts == (CutPiece(1, 21.5 * HOUR, "cold"),)


@pytest.mark.parametrize("trays", ["[[1]]", "[[1, 2], [2]]", "[[1, 3]]", "[1, 2]", "[[], [1, 2]]", '[["1", 2]]'])
def test_every_item_stands_on_one_tray(trays: str) -> None:
    with pytest.raises(InputErrors, match=r"run.trays: list the item numbers of each tray, every item from 1"):
        batch(TEXT.replace("[[2, 1]]", trays))


def test_a_time_zone_on_one_clock_only_is_an_error() -> None:
    with pytest.raises(InputErrors, match=r"has a time zone but run.drying_began has none"):
        batch(TEXT.replace("2026-03-15T18:00:00", "2026-03-15T18:00:00Z"))


def test_all_problems_come_at_once() -> None:
    wrong = TEXT.replace('finding = "cold"', 'finding = "colt"').replace("activity = 0.12", "activity = 1.2")
    with pytest.raises(InputErrors) as caught:
        batch(wrong.replace('shelf = ["45 degC until dry"]', ""))
    fields = [getattr(problem, "field", "") for problem in caught.value.problems]
    assert fields == ["load.program.shelf", "activity[1].activity", "cut[1].finding"]


def test_information_of_a_weight_agrees_with_its_integral() -> None:
    """Two kinds of trays, 3 g apart on a scale that errs by 1 g: SciPy's normal and trapezoid rule."""
    weights, dry = np.array([0.3, 0.7]), np.array([1.0, 0.0])
    grid = np.linspace(-10.0, 13.0, 20001)
    parts = [0.3 * norm.pdf(grid, 0.0, 1.0), 0.7 * norm.pdf(grid, 3.0, 1.0)]
    both = parts[0] + parts[1]
    exact = sum(
        float(trapezoid(part * np.log2(part / (both * share)), grid))
        for part, share in zip(parts, (0.3, 0.7), strict=True)
    )
    means, errors = np.array([0.0, 3.0]), np.ones(2)
    assert information(weights, dry, means, errors) == pytest.approx(exact, rel=1e-3)
    assert information(weights, np.ones(2), means, errors) == 0.0


POUND, OUNCE = 0.45359237, 0.028349523125  # kg, definition (NIST SP 811)


@settings(max_examples=60, deadline=None)
@given(
    number=st.integers(1, 99),
    digits=st.integers(0, 4),
    unit=st.sampled_from([("g", 0.001), ("kg", 1.0), ("lb", POUND), ("oz", OUNCE)]),
)
def test_the_step_of_the_scale_is_the_last_digit_that_was_written(
    number: int, digits: int, unit: tuple[str, float]
) -> None:
    """Also where that digit is a nought."""
    name, kilograms = unit
    written = f"{number}.{'0' * digits} {name}" if digits else f"{number} {name}"
    step = kilograms / 10**digits
    table = {**tomllib.loads(TEXT), "weighing": [{"tray": 1, "time": "20 h", "gross": written}]}
    assume(number * kilograms < 100.0)
    assert parse_batch(table, Path()).evidence.weighed[0].resolution == pytest.approx(min(step, 1.0))
    table["weighing"][0]["resolution"] = "3 g"
    assert parse_batch(table, Path()).evidence.weighed[0].resolution == pytest.approx(0.003)


@pytest.mark.parametrize(
    ("gross", "step"),
    [("3.31 lb", 0.01 * POUND), ("2 lb 3 oz", OUNCE), ("2 lb 3.5 oz", 0.1 * OUNCE), ("1120 g", 0.001)],
)
def test_the_step_follows_the_unit_of_the_last_digit(gross: str, step: float) -> None:
    table = {**tomllib.loads(TEXT), "weighing": [{"tray": 1, "time": "20 h", "gross": gross}]}
    assert parse_batch(table, Path()).evidence.weighed[0].resolution == pytest.approx(step)


@pytest.mark.parametrize("shown", [("1.70", "1.69", "1.69", "1.70"), ("1.7", "1.7", "1.6", "1.7")])
def test_honest_weights_on_a_coarse_scale_do_not_contradict_themselves(shown: tuple[str, ...]) -> None:
    """A scale shows the next step now and then; taken for a scale in 1 g, it would tell of food that gains weight."""
    hours = ("12 h", "14 h", "16 h", "18 h")
    rows = [
        {"tray": 1, "time": hour, "gross": f"{pounds} lb", "tare": "638 g"}
        for hour, pounds in zip(hours, shown, strict=True)
    ]
    table = {"load": {"file": "berry-tray.toml"}, "run": {"now": "19 h"}, "weighing": rows}
    batch = parse_batch(table, Path(__file__).parents[2] / "examples")
    (answer,) = judge(DrynessQuestion(batch.load, batch.evidence, batch.now, members=200))
    assert answer.verdict != "contradiction"
    in_grams = [{**row, "resolution": "1 g"} for row in rows]
    batch = parse_batch({**table, "weighing": in_grams}, Path(__file__).parents[2] / "examples")
    (misled,) = judge(DrynessQuestion(batch.load, batch.evidence, batch.now, members=200))
    assert misled.verdict == "contradiction"
