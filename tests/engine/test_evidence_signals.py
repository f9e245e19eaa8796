"""Pressure rise, probe and cut against hand calculations, and the way from a file to the pieces of evidence."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drystow.errors import InputError
from drystow.evidence.dryness.batch_file import read_batch
from drystow.evidence.dryness.chamber import Closed, leak_rise, manometric_temperature, rise_words, vapour_after
from drystow.evidence.dryness.cut import CRISP, ICE, LITTLE_ICE, NOTHING, WET, cut_words, passes_one_in, piece_chance
from drystow.evidence.dryness.judge import DrynessQuestion, judge
from drystow.evidence.dryness.observed import (
    FINDINGS,
    CutPiece,
    Evidence,
    ObservedRise,
    PowerReading,
    PressureReading,
    ProbeReading,
)
from drystow.evidence.dryness.probe import probe_words, tip_temperature
from drystow.evidence.dryness.signals import fewer_readings

EXAMPLE = Path(__file__).parents[2] / "examples" / "dryness" / "three-signs.toml"


def chamber(ease: float = 0.0, front: float = 243.15, heat: float = 0.0, desorbing: float = 0.0) -> Closed:
    """One member, one piece, 45 L at 300 K; so much frozen food that it hardly warms."""
    one = np.ones((1, 1))
    return Closed(
        gas=np.array([461.5 * 300.0 / 0.045]),
        ease=ease * one,
        front=front * one,
        heat=heat * one,
        frozen=1e9 * one,
        desorbing=np.array([desorbing]),
        damping=np.zeros(1),
        vapour=np.zeros(1),
    )


@pytest.mark.parametrize(("volume", "pascal"), [(0.030, 4.0), (0.100, 1.2)])
def test_the_leak_that_is_allowed_raises_the_pressure_as_arithmetic_says(volume: float, pascal: float) -> None:
    # 2e-2 mbar L/s is 2e-3 Pa m3/s; over the volume and times 60 s
    assert leak_rise(2e-3, volume, 60.0) == pytest.approx(pascal, rel=1e-9)


def test_steady_vapour_fills_the_chamber_as_an_ideal_gas() -> None:
    # 1e-6 kg/s for 30 s: m R T / V = 3e-5 kg x 461.5 J/(kg K) x 300 K / 0.045 m3 = 92.3 Pa
    after = vapour_after(chamber(desorbing=1e-6), np.zeros(1), 30.0)
    assert after[0] == pytest.approx(92.3, rel=1e-9)


def test_nothing_that_gives_vapour_leaves_the_pressure_where_it_is() -> None:
    assert vapour_after(chamber(), np.array([7.0]), 60.0)[0] == 7.0
    assert leak_rise(0.0, 0.045, 60.0) == 0.0


@pytest.mark.parametrize(("front", "over_ice"), [(230.0, 8.94735), (250.0, 76.01267), (263.15, 259.87381)])
def test_over_ice_the_pressure_levels_off_at_the_pressure_of_the_ice(front: float, over_ice: float) -> None:
    # IAPWS R14-08(2011), sublimation curve; 8.94735 Pa at 230 K is the release's own check value
    after = vapour_after(chamber(ease=1e-5, front=front), np.array([2.0]), 60.0)
    assert after[0] == pytest.approx(over_ice, rel=5e-4)  # the program's ice curve is another fit, 0.03% away


def test_before_it_levels_off_the_pressure_follows_the_exponential_of_one_resistance() -> None:
    # p = p_ice - (p_ice - p0) exp(-t R T g / V), with g = 1e-8 kg/(s Pa): 32.5 s; 38.005 Pa: IAPWS R14-08
    expected = 38.005 - (38.005 - 2.0) * np.exp(-20.0 * 461.5 * 300.0 / 0.045 * 1e-8)
    after = vapour_after(chamber(ease=1e-8), np.array([2.0]), 20.0)
    assert after[0] == pytest.approx(expected, rel=5e-4)


def test_a_pressure_that_has_levelled_off_tells_the_temperature_of_the_ice() -> None:
    assert manometric_temperature(8.94735) == pytest.approx(230.0, abs=0.01)  # IAPWS R14-08(2011)
    with pytest.raises(InputError, match="no ice has a vapor pressure of 700 Pa"):
        manometric_temperature(700.0)


def test_a_tip_in_the_ice_has_its_temperature_and_a_bare_one_lies_on_the_way_to_the_shelf() -> None:
    gone, front, shelf = np.array([0.4, 0.8, 1.0]), np.array([248.0, 250.0, 300.0]), np.full(3, 318.0)
    tip = tip_temperature(gone, front, shelf, 0.5)
    assert tip[0] == 248.0
    assert 250.0 < tip[1] < 318.0
    assert tip[2] == 300.0


@pytest.mark.parametrize("table", [ICE, LITTLE_ICE, WET, CRISP, NOTHING])
def test_every_piece_gives_one_finding(table: dict[str, float]) -> None:
    assert set(table) == set(FINDINGS)
    assert sum(table.values()) == pytest.approx(1.0, abs=1e-12)


def test_the_more_ice_or_water_in_a_piece_the_less_often_it_is_found_dry() -> None:
    icy = piece_chance("dry", np.array([0.0, 0.01, 0.05, 0.2, 0.9]), np.full(5, 0.4))
    wet = piece_chance("dry", np.zeros(4), np.array([0.4, 1.2, 1.8, 4.0]))
    assert np.all(np.diff(icy) <= 0.0)
    assert icy[-1] < icy[0]
    assert np.all(np.diff(wet) < 0.0)


def test_a_dry_cut_says_how_often_it_errs() -> None:
    words = cut_words(CutPiece(1, 0.0, "dry"))
    assert f"About 1 in {round(passes_one_in())} trays" in words
    assert "can't show a little extra moisture" in words
    assert passes_one_in(0.05) < passes_one_in(0.5)  # the rarer the wet pieces, the easier they are missed


def test_words_for_probe_and_pressure_rise() -> None:
    assert "ice is left at the probe" in probe_words(ProbeReading(1, 0.0, 248.15, 318.15))
    assert "no ice at the probe" in probe_words(ProbeReading(1, 0.0, 317.15, 318.15))
    assert "says little" in probe_words(ProbeReading(1, 0.0, 262.15, 263.15))
    assert "still warming up" in probe_words(ProbeReading(1, 0.0, 293.15, 318.15))
    assert "hardly rose" in rise_words(ObservedRise(0.0, 30.0, 12.0, 14.0))
    assert "−30 °C" in rise_words(ObservedRise(0.0, 30.0, 12.0, 38.0))


def test_a_curve_of_a_thousand_readings_is_thinned_with_its_ends_kept() -> None:
    times = [60.0 * number for number in range(1000)]
    seen = Evidence(
        pressures=tuple(PressureReading(time, 10.0) for time in times),
        powers=tuple(PowerReading(time, 900.0) for time in times),
    )
    fewer = fewer_readings(seen)
    for rows in (fewer.pressures, fewer.powers):
        assert len(rows) == 24
        assert (rows[0].time, rows[-1].time) == (times[0], times[-1])


def test_the_example_file_reaches_the_pieces_of_evidence() -> None:
    batch = read_batch(EXAMPLE)
    assert (len(batch.evidence.probes), len(batch.evidence.rises), len(batch.evidence.cuts)) == (2, 1, 1)
    (tray,) = judge(DrynessQuestion(batch.load, batch.evidence, batch.now, groups=batch.groups, members=100))
    assert [piece.kind for piece in tray.pieces] == ["weighing", "probe", "pressure_rise", "cut"]
    assert all(np.isfinite(piece.pull) for piece in tray.pieces)


def test_signs_alone_never_call_a_tray_dry() -> None:
    batch = read_batch(EXAMPLE)
    signs = replace(batch.evidence, weighed=())
    (tray,) = judge(DrynessQuestion(batch.load, signs, batch.now, groups=batch.groups, members=100))
    assert tray.verdict != "dry"


@pytest.mark.parametrize(
    ("field", "seen"),
    [
        ("product", Evidence(probes=(ProbeReading(1, 60.0, 42.0, 318.0),))),
        ("duration", Evidence(rises=(ObservedRise(60.0, 0.0, 5.0, 6.0),))),
        ("after", Evidence(rises=(ObservedRise(60.0, 30.0, 5.0, 6000.0),))),
        ("pressure", Evidence(pressures=(PressureReading(60.0, -1.0),))),
        ("power", Evidence(powers=(PowerReading(60.0, -1.0),))),
    ],
)
def test_readings_that_cannot_be_are_refused(field: str, seen: Evidence) -> None:
    batch = read_batch(EXAMPLE)
    with pytest.raises(InputError) as problem:
        judge(DrynessQuestion(batch.load, seen, 3600.0, members=20))
    assert problem.value.field == field
