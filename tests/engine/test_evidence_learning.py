"""Finished batches teach what a machine is like: recovered from synthetic batches whose truth is known."""

import math
from dataclasses import replace

import numpy as np
import pytest

from drystow.errors import InputError
from drystow.evidence.dryness.observed import Evidence, PressureReading
from drystow.evidence.learning.finished import Finished
from drystow.evidence.learning.flags import heaped, likely_causes, thawed
from drystow.evidence.learning.learn import Lesson, learn, learn_all, simulation
from drystow.evidence.learning.learned import NOTHING_LEARNED, LearnedNumbers, calibration
from drystow.evidence.learning.words import learned_words, reference_load, time_factor
from drystow.machine.ensemble import simulate_spread
from drystow.machine.profile import dryer_profile
from tests.synthetic_batches import OFF, some_load, true_batch

MEMBERS = 90


@pytest.fixture(scope="module")
def batches() -> tuple[Finished, ...]:
    random = np.random.default_rng(11)
    return tuple(
        true_batch(f"batch {number}", some_load(random, ("fruit", "vegetable"), trays=2), OFF, random)[0]
        for number in range(5)
    )


@pytest.fixture(scope="module")
def lessons(batches: tuple[Finished, ...]) -> tuple[Lesson, ...]:
    return learn_all(batches, members=MEMBERS)


@pytest.fixture(scope="module")
def learned(lessons: tuple[Lesson, ...]) -> LearnedNumbers:
    return lessons[-1].learned


def test_five_batches_tell_what_the_machine_is_like(learned: LearnedNumbers) -> None:
    for key, truth in OFF.items():
        mean, width, count = learned.number(*key)
        assert count == 5
        assert abs(truth - mean) < 1.645 * width + 0.3, key  # nine in ten, and what three thicknesses leave open
        assert width < 0.85  # less than the 1 of a machine that nobody knows
    assert learned.number("isotherm", "vegetable")[1] > 0.9  # nothing was seen of it


def test_forecasts_of_further_batches_come_nearer(learned: LearnedNumbers) -> None:
    random = np.random.default_rng(12)
    before, after = [], []
    for classes in (("fruit", "vegetable"), ("fruit", "fruit"), ("meat", "fruit")):
        finished, dry = true_batch("next", some_load(random, classes, trays=2), OFF, random)
        for errors, known in ((before, {}), (after, calibration(learned))):
            runs = simulate_spread(finished.load, 60, known=known).runs
            errors.append(abs(float(np.median(runs.end - runs.start)) / dry - 1.0))
    assert np.median(after) < 0.5 * np.median(before)


def test_the_order_of_batches_hardly_matters(batches: tuple[Finished, ...]) -> None:
    three = batches[:3]
    forth = learn_all([replace(one, day=0.0) for one in three], members=MEMBERS)[-1].learned
    back = learn_all([replace(one, day=0.0) for one in reversed(three)], members=MEMBERS)[-1].learned
    for key in OFF:
        (mean, width, _), (other, wide, _) = forth.number(*key), back.number(*key)
        assert abs(mean - other) < 0.5 * width
        assert abs(width / wide - 1.0) < 0.25


def test_ordinary_batches_are_in_line(lessons: tuple[Lesson, ...]) -> None:
    assert not any(lesson.surprise.out_of_line for lesson in lessons)


def test_the_time_alone_does_not_give_away_a_load_that_was_not_frozen_through(learned: LearnedNumbers) -> None:
    # Water that never froze leaves fast behind the front, as far as the model goes; that it foams is not in it.
    random = np.random.default_rng(13)
    load = some_load(random, ("fruit", "vegetable"), trays=2)
    finished, _dry = true_batch("wet", thawed(load, 0.3), OFF, random, written=load)
    lesson = learn(learned, finished, members=MEMBERS)
    assert not lesson.surprise.out_of_line


def test_an_overfilled_tray_is_flagged_and_named(learned: LearnedNumbers) -> None:
    random = np.random.default_rng(14)
    load = some_load(random, ("fruit", "vegetable"), trays=2)
    finished, _dry = true_batch("full", heaped(load, 1.6, (1,)), OFF, random, written=load)
    lesson = learn(learned, finished, members=MEMBERS)
    assert lesson.surprise.out_of_line
    first = likely_causes(lesson.before, finished, members=40)[0]
    assert (first.key, first.tray) == ("overfilled", 2)


def test_too_much_air_is_flagged_and_named_when_the_pressure_was_written_down(learned: LearnedNumbers) -> None:
    random = np.random.default_rng(15)
    truth = OFF | {("air", ""): math.log(12.0) / 0.3}
    load = some_load(random, ("fruit", "vegetable"), trays=2)
    finished, _dry = true_batch("oil", load, truth, random, gauge=True)
    lesson = learn(learned, finished, members=MEMBERS)
    assert lesson.surprise.out_of_line
    assert likely_causes(lesson.before, finished, members=40)[0].key == "air"


def test_pressures_of_an_open_chamber_are_not_heard(batches: tuple[Finished, ...]) -> None:
    finished, _dry = true_batch("gauge", batches[0].load, OFF, np.random.default_rng(16), gauge=True)
    opened = finished.evidence.weighed[0].time
    air = (PressureReading(opened, 101325.0), PressureReading(opened + 60.0, 40.0))
    evidence = replace(finished.evidence, pressures=(*finished.evidence.pressures, *air))
    run = simulation(replace(finished, evidence=evidence))
    seen, _times = run(np.zeros((2, 6 + 7 * len(finished.load.items) + 1)))
    assert seen.kinds.count("pressure") == len(finished.evidence.pressures)


def test_a_strange_batch_teaches_less_than_an_ordinary_one(
    learned: LearnedNumbers, batches: tuple[Finished, ...]
) -> None:
    usual = batches[0]
    strange = replace(usual, ended=tuple(replace(one, time=2.5 * one.time) for one in usual.ended))
    lesson = learn(learned, strange, members=MEMBERS)
    assert lesson.surprise.out_of_line
    assert lesson.surprise.doubt > 3.0
    assert abs(lesson.learned.number("contact")[0] - learned.number("contact")[0]) < learned.number("contact")[1]


def test_what_was_learned_is_told_in_words(learned: LearnedNumbers) -> None:
    factor = time_factor(learned, reference_load(dryer_profile("kitchen-5")), members=40)
    words = learned_words(learned, factor)
    assert words[0].startswith("Your dryer runs ")
    assert "slower than expected" in words[0]
    assert any(one.startswith("Heat from shelf to food: ") and "less than expected" in one for one in words)
    assert any(one.startswith("“fruit” gives up its last moisture ") and "slower than usual" in one for one in words)
    assert learned_words(NOTHING_LEARNED) == ()


def test_a_batch_of_which_nothing_was_seen_is_refused(batches: tuple[Finished, ...]) -> None:
    with pytest.raises(InputError, match="nothing was recorded for this batch"):
        learn(NOTHING_LEARNED, replace(batches[0], evidence=Evidence(), ended=()))
