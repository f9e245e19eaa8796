"""Is the judge of dryness calibrated? A small trial on synthetic batches, and the trial itself held against laws.

The whole trial is `python -m tools.write_evidence`.
"""

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest
from tools.evidence import curves
from tools.evidence import truth as real
from tools.evidence.batch import ALL, Row
from tools.evidence.naive import SEEN, constant_weight, cut_and_look
from tools.evidence.run import run_batches
from tools.evidence.scenes import Scene, scene
from tools.evidence.scores import brier, coverage, hindsight, plausible, share_of, upper_limit
from tools.evidence.seeing import Diary, Habits, drying_time, net_weight, open_and_weigh

from drystow.evidence.dryness.observed import Evidence, Weighed
from drystow.machine.layout import Tray
from drystow.machine.run import drying_program

HOUR = 3600.0
BATCHES = 24


@pytest.fixture(scope="module")
def batch() -> Scene:
    return scene(5)


@pytest.fixture(scope="module")
def truth(batch: Scene) -> real.Truth:
    return real.make_truth(batch.load, 5)


@pytest.fixture(scope="module")
def course(batch: Scene, truth: real.Truth) -> real.Course:
    return real.course_of(truth, real.held_program(drying_program(batch.load), batch.planned, 20 * HOUR))


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> list[Row]:
    return run_batches("once", range(5000, 5000 + BATCHES), 250, Path(tmp_path_factory.mktemp("trial")))


def test_the_pieces_of_a_tray_hold_what_the_tray_holds(batch: Scene, truth: real.Truth) -> None:
    for number, item in enumerate(batch.load.items):
        mine = truth.rows[truth.item == number]
        water = (mine[:, Tray.ICE] + mine[:, Tray.UNFROZEN] * mine[:, Tray.SOLIDS]).sum()
        assert water + mine[:, Tray.SOLIDS].sum() == pytest.approx(item.mass, rel=1e-4)  # definition: mass is kept


def test_water_that_leaves_the_food_is_on_the_trap(truth: real.Truth, course: real.Course) -> None:
    water = course.moisture @ truth.rows[:, Tray.SOLIDS]  # law: conservation of mass
    np.testing.assert_allclose(water[0] - water, course.trap - course.trap[0], atol=2e-4 * water[0])
    assert (np.diff(water) <= 1e-9).all()


def test_a_tray_is_dry_at_its_target_without_any_ice(batch: Scene, truth: real.Truth, course: real.Course) -> None:
    items = batch.groups[0]
    dry = real.dry_time(truth, course, items)
    wished = batch.load.items[items[0]].target
    # where its last ice was the last to go it is drier than its target by then
    assert 0.8 * wished < real.wet_moisture(truth, course, items, dry) <= 1.05 * wished
    assert real.wet_moisture(truth, course, items, 0.8 * dry) > wished


@pytest.mark.parametrize("form", ["gab", "oswin", "halsey"])
def test_isotherms_of_every_form_go_back_and_forth(form: str) -> None:
    constants = {"gab": (0.08, 5.0, 1.05), "oswin": (0.1, 0.45, 0.0), "halsey": (0.06, 0.6, 0.0)}[form]
    for activity in (0.01, 0.05, 0.2, 0.6):
        moisture = float(curves.moisture_by(form, constants, np.array(activity)))
        assert curves.activity_by(form, constants, moisture) == pytest.approx(activity, rel=1e-6)


def test_curves_of_another_form_stay_near_the_points_that_they_were_fitted_to(batch: Scene) -> None:
    isotherm = batch.load.items[0].isotherm
    for seed in range(12):
        found = curves.true_sorption(isotherm, isotherm.monolayer, np.random.default_rng(seed))
        if found.form != "gab":
            ours = curves.moisture_by(found.form, found.constants, curves.ACTIVITIES)
            model = curves.moisture_by("gab", (isotherm.monolayer, isotherm.c, isotherm.k), curves.ACTIVITIES)
            np.testing.assert_allclose(ours, model, rtol=0.5)
            assert np.abs(ours / model - 1.0).max() > 0.02


def test_a_world_without_differences_has_one_rate_and_the_model_s_isotherm(batch: Scene) -> None:
    same = real.make_truth(batch.load, 5, frozenset())
    isotherm = batch.load.items[0].isotherm
    mine = same.rows[same.item == 0]
    assert (mine[:, Tray.GAB_C] == isotherm.c).all()
    assert np.unique(mine[mine[:, Tray.DESORPTION_RATE] > 0.0, Tray.DESORPTION_RATE]).size == 1


def diary_of(batch: Scene, truth: real.Truth, course: real.Course, step: float) -> Diary:
    count = len(batch.groups)
    habits = Habits(step, 0.0, 0.5, 4 * HOUR, 0.0, (0.5,) * count, (0.5,) * count, 300.0)
    return Diary(truth, course, batch.groups, habits, np.random.default_rng(1), differ=ALL - {"scale", "mistakes"})


def test_a_scale_shows_dry_mass_and_water_in_its_steps(batch: Scene, truth: real.Truth, course: real.Course) -> None:
    diary = diary_of(batch, truth, course, 0.005)
    mine = np.isin(truth.item, batch.groups[0])
    rows = truth.rows[mine]
    fresh = float((rows[:, Tray.SOLIDS] * (1.0 + rows[:, Tray.UNFROZEN]) + rows[:, Tray.ICE]).sum())
    assert net_weight(diary, 1, 0.0, 0.0) == pytest.approx(fresh, rel=1e-6)
    assert net_weight(diary, 1, 1.5 * batch.planned, 600.0) > net_weight(diary, 1, 1.5 * batch.planned, 0.0)
    open_and_weigh(diary, 5 * HOUR, (1,))
    seen = diary.evidence.weighed[0]
    assert seen.gross / 0.005 == pytest.approx(round(seen.gross / 0.005))
    assert drying_time(diary, 5 * HOUR) == 5 * HOUR
    assert drying_time(diary, 6 * HOUR) < 6 * HOUR - 300.0


def weighings(*grams: float, hours: Sequence[float]) -> Evidence:
    return Evidence(
        tuple(Weighed(1, hour * HOUR, one / 1000.0, 0.5, 0.001) for one, hour in zip(grams, hours, strict=True))
    )


def test_constant_weight_compares_the_last_two_an_hour_apart() -> None:
    assert constant_weight(weighings(905, 900, 900, hours=(1, 2, 3)), 1)
    assert constant_weight(weighings(901, 900, hours=(1, 2)), 1)
    assert not constant_weight(weighings(902, 900, hours=(1, 2)), 1)
    assert not constant_weight(weighings(905, 900, 900, hours=(1, 2.5, 2.8)), 1)  # the last two are too close
    assert constant_weight(weighings(900, 900, hours=(1, 1.5)), 1) is None


def test_a_cut_piece_with_ice_passes_as_rarely_as_stated(batch: Scene, truth: real.Truth, course: real.Course) -> None:
    items, random = batch.groups[0], np.random.default_rng(3)
    early = [cut_and_look(truth, course, items, HOUR, random) for _ in range(2000)]
    assert binomtest(sum(early), 2000, SEEN[0][1]).pvalue > 1e-3
    late = float(course.time[-1])
    assert all(cut_and_look(truth, course, items, late, random) for _ in range(50))


@pytest.mark.parametrize(("hits", "of"), [(0, 600), (3, 40), (39, 40)])
def test_limits_agree_with_an_independent_library(hits: int, of: int) -> None:
    """Source: SciPy's binomtest, Wilson's interval and Clopper and Pearson's upper limit."""
    wilson = binomtest(hits, of).proportion_ci(0.95, method="wilson")
    ours = share_of(hits, of)
    assert (ours.low, ours.high) == pytest.approx((wilson.low, wilson.high), abs=1e-6)
    exact = binomtest(hits, of, alternative="less").proportion_ci(0.95, method="exact")
    assert upper_limit(hits, of) == pytest.approx(exact.high, abs=1e-9)


def test_hindsight_scores_a_rule_at_its_best() -> None:
    says, dry = [True, True, True, True, False], [True, True, True, False, False]
    assert hindsight(says, dry) == [0.75, 0.75, 0.75, 0.75, 0.0]
    assert brier(hindsight(says, dry), dry) < brier([float(one) for one in says], dry)  # 0.15 against 0.2


def test_every_batch_of_the_small_trial_runs(rows: list[Row]) -> None:
    assert [row for row in rows if "failed" in row] == []
    assert len({row["seed"] for row in rows}) == BATCHES


def test_nothing_is_called_dry_that_is_not(rows: list[Row]) -> None:
    said = [row for row in rows if row["verdict"] == "dry"]
    assert len(said) >= 3  # of 24 batches, most asked before they are surely dry
    assert [row for row in said if not row["dry"]] == []


@pytest.mark.parametrize("name", ["moisture", "activity"])
def test_intervals_hold_about_as_often_as_they_claim(rows: list[Row], name: str) -> None:
    good = [row for row in rows if row["verdict"] != "contradiction"]
    low, _high = plausible(len(good), 0.85)  # wished: 85 to 95% of the intervals hold
    assert coverage(good, name).hits >= low


def test_the_probability_of_dry_beats_the_base_rate(rows: list[Row]) -> None:
    good = [row for row in rows if row["verdict"] != "contradiction"]
    dry = [row["dry"] for row in good]
    rate = float(np.mean(dry))
    assert brier([row["chance"] for row in good], dry) < 0.6 * rate * (1.0 - rate)
    assert all(math.isfinite(row["more_said"][0]) or not row["dry"] for row in good)
