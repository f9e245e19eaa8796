"""Laws of evidence: more of it narrows, the order does not matter, and the sampling agrees with exact answers."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from drystow.evidence.dryness.courses import View, moisture_of, program_to, run_courses, solids_of, views_of
from drystow.evidence.dryness.judge import DECISION_LEVEL, DrynessQuestion, TrayDryness, judge
from drystow.evidence.dryness.observed import (
    ActivityReading,
    CutPiece,
    Evidence,
    OvenSample,
    ProbeReading,
    Row,
    Weighed,
    clock_of,
    seen_at,
)
from drystow.evidence.dryness.posterior import (
    DOUBT,
    DOUBT_WIDTH,
    Fit,
    Round,
    adapt,
    columns_of,
    doubted,
    draw_round,
    effective_size,
    log_ratio,
    normalised,
    prior_of,
)
from drystow.evidence.dryness.reading import is_dry
from drystow.evidence.dryness.samples import activity_of, oven_signals
from drystow.evidence.dryness.weighings import expected_weights, water_prior, weighing_signal, wet_moisture
from drystow.evidence.dryness.worst import wettest_activity
from drystow.machine.load import Load
from drystow.machine.loadfile import parse_load, read_load
from drystow.machine.sampling import SHARED
from drystow.numerics import Array
from tests import signal_batches as seeing

HOUR = 3600.0
TARE = 0.640
MEMBERS = 300
BERRIES = read_load(Path(__file__).parents[2] / "examples" / "berry-tray.toml")


def weighed(rows: Sequence[tuple[float, float]], tray: int = 1, resolution: float = 0.001) -> tuple[Weighed, ...]:
    """Weighings from pairs of hours and net grams."""
    return tuple(Weighed(tray, hours * HOUR, TARE + grams / 1000.0, TARE, resolution) for hours, grams in rows)


def asked(
    evidence: Evidence, hours: float, load: Load = BERRIES, *, members: int = MEMBERS, seed: int = 1, classes: int = 2
) -> TrayDryness:
    return judge(DrynessQuestion(load, evidence, hours * HOUR, members=members, seed=seed, classes=classes))[0]


def width(answer: TrayDryness) -> float:
    return answer.residual_moisture.high - answer.residual_moisture.low


STEADY = [(17.0, 127.6), (18.5, 126.0), (20.0, 125.4), (21.5, 125.2)]  # invented: 122 g of dry matter and rest
LOSING = [(17.0, 138.0), (18.5, 134.0), (20.0, 130.6), (21.5, 127.6)]  # invented: still 2 g an hour


def test_without_evidence_nothing_is_called_dry_however_late() -> None:
    late = asked(Evidence(), 60.0)
    assert late.probability_dry > DECISION_LEVEL
    assert late.verdict == "not_enough_evidence"
    assert late.next_weighing == 0.0  # weigh it now


def test_the_level_of_one_weighing_says_little_since_a_percent_of_water_is_percents_of_residual() -> None:
    before = asked(Evidence(), 17.0)
    once = asked(Evidence(weighed=weighed([(16.9, 128.0)])), 17.0)
    assert width(before) > 0.04
    assert width(once) > 0.7 * width(before)
    assert once.verdict != "dry"


def test_one_weighing_is_never_enough() -> None:
    for grams in (124.0, 126.0, 130.0):
        assert asked(Evidence(weighed=weighed([(39.9, grams)])), 40.0).verdict in ("not_enough_evidence", "nearly")


def test_two_weighings_a_few_minutes_apart_are_not_an_approach_to_constant_weight() -> None:
    answer = asked(Evidence(weighed=weighed([(39.5, 125.0), (39.9, 125.0)], resolution=0.0001)), 40.0)
    assert answer.verdict == "not_enough_evidence"


def test_more_evidence_narrows_what_may_be_left() -> None:
    def factor(evidence: Evidence) -> float:
        left = asked(evidence, 21.6).residual_moisture
        return left.high / left.low

    widths = [factor(Evidence(weighed=weighed(LOSING[:count]))) for count in (0, 2, 4)]
    assert widths[2] < widths[1] < 1.05 * widths[0]
    with_sample = Evidence(weighed=weighed(LOSING), samples=(OvenSample(1, 21.5 * HOUR, 0.005, 0.0048, 1e-5),))
    assert factor(with_sample) < widths[2]


def test_a_weight_at_rest_raises_the_chance_and_a_late_loss_lowers_it() -> None:
    before = asked(Evidence(), 21.6).probability_dry
    rest, losing = (asked(Evidence(weighed=weighed(rows)), 21.6) for rows in (STEADY, LOSING))
    assert rest.probability_dry > before > losing.probability_dry
    assert rest.pieces[0].pull > 0.0 > losing.pieces[0].pull
    assert rest.verdict == "dry"
    assert losing.verdict in ("not_dry", "nearly")
    assert losing.more_time[0] > 0.0


def test_a_heavier_late_loss_means_more_water_is_left() -> None:
    middles = []
    for loss in (0.5, 1.5, 3.0, 5.0):
        rows = [(17.0, 126.0 + 2 * loss), (19.0, 126.0 + loss), (21.0, 126.0)]
        middles.append(asked(Evidence(weighed=weighed(rows)), 21.1).residual_moisture.middle)
    assert middles == sorted(middles)
    assert middles[-1] > 2.0 * middles[0]


def test_the_order_in_which_things_were_written_down_does_not_matter() -> None:
    rows = weighed(STEADY)
    forth, back = (asked(Evidence(weighed=some), 21.6) for some in (rows, rows[::-1]))
    assert forth.probability_dry == pytest.approx(back.probability_dry, abs=1e-9)
    assert forth.words == back.words


def test_a_scale_with_ten_gram_steps_says_less() -> None:
    rows = [(17.0, 134.0), (19.0, 130.0), (21.0, 130.0)]
    fine, coarse = (asked(Evidence(weighed=weighed(rows, resolution=step)), 21.1) for step in (0.001, 0.01))
    assert width(coarse) > width(fine)
    assert abs(coarse.pieces[0].pull) < abs(fine.pieces[0].pull)


def test_the_same_seed_gives_the_same_answer_and_another_nearly_so() -> None:
    evidence = Evidence(weighed=weighed(LOSING))
    one, two, other = (asked(evidence, 21.6, seed=seed, members=600) for seed in (7, 7, 8))
    assert one.residual_moisture == two.residual_moisture
    assert one.probability_dry == two.probability_dry
    assert other.residual_moisture.middle == pytest.approx(one.residual_moisture.middle, rel=0.2)


def test_what_was_seen_of_one_tray_hardly_moves_another() -> None:
    item = BERRIES.items[0]
    pair = replace(BERRIES, items=(item, item))
    alone = judge(DrynessQuestion(pair, Evidence(weighed=weighed(STEADY)), 21.6 * HOUR, members=MEMBERS))
    both = judge(
        DrynessQuestion(pair, Evidence(weighed=weighed(STEADY) + weighed(LOSING, tray=2)), 21.6 * HOUR, members=MEMBERS)
    )
    assert both[0].probability_dry == pytest.approx(alone[0].probability_dry, abs=0.03)
    assert both[0].residual_moisture.middle == pytest.approx(alone[0].residual_moisture.middle, rel=0.15)
    assert both[1].probability_dry < alone[1].probability_dry - 0.3
    assert both[1].residual_moisture.middle > 2.0 * alone[1].residual_moisture.middle


def test_a_tray_of_two_items_is_judged_as_one() -> None:
    item = BERRIES.items[0]
    halves = tuple(
        replace(item, mass=item.mass / 2, ice=item.ice / 2, unfrozen=item.unfrozen / 2, areas=half)
        for half in [replace(item.areas, outer=item.areas.outer / 2, contact=item.areas.contact / 2,
                             above=item.areas.above / 2)] * 2
    )  # fmt: skip
    split = replace(BERRIES, items=halves)
    evidence = Evidence(weighed=weighed(LOSING))
    (together,) = judge(DrynessQuestion(split, evidence, 21.6 * HOUR, groups=((0, 1),), members=600))
    whole = asked(evidence, 21.6, members=600)
    assert together.residual_moisture.middle == pytest.approx(whole.residual_moisture.middle, rel=0.25)
    assert together.target_moisture == pytest.approx(whole.target_moisture)


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([(17.0, 127.0), (19.0, 126.0), (21.0, 134.0)], "8.0 g more than 2.0 h before"),
        ([(19.0, 900.0), (21.0, 899.0)], "more than the 771 g that went in"),
        ([(19.0, 31.0), (21.0, 30.0)], "wrong empty-tray weight, another tray, or food taken or lost"),
    ],
    ids=["gained", "too heavy", "too light"],
)
def test_numbers_that_cannot_be_are_named_with_their_likely_reasons(
    rows: list[tuple[float, float]], reason: str
) -> None:
    answer = asked(Evidence(weighed=weighed(rows)), 21.1)
    assert answer.verdict == "contradiction"
    assert reason in answer.words
    assert "weigh again" in answer.words


def test_time_outside_the_chamber_is_no_drying_time() -> None:
    rows = (Weighed(1, 10 * HOUR, 1.0, 0.6, outside=600.0), Weighed(1, 12 * HOUR, 1.0, 0.6, outside=600.0))
    clock = clock_of(Evidence(weighed=rows), pump_down=300.0)
    assert seen_at(clock, rows[0]) == pytest.approx(10 * HOUR - 600.0)
    assert seen_at(clock, rows[1]) == pytest.approx(12 * HOUR - 600.0 - 1500.0)


def a_view(evidence: Evidence, hours: float, members: int = 40) -> tuple[View, tuple[Array, Array]]:
    prior = prior_of(BERRIES)
    clock = clock_of(evidence, BERRIES.rig.dryer.pump_down)
    rows: tuple[Row, ...] = (*evidence.weighed, *evidence.samples)
    sample_times = sorted({seen_at(clock, row) for row in rows})
    draws = np.random.default_rng(3).multivariate_normal(*prior, size=members)
    program = program_to(BERRIES, hours * HOUR)
    runs = run_courses(BERRIES, draws[:, :-1], program, sample_times, 2, None, lambda _count: None)
    (view,) = views_of(BERRIES, runs, ((0,),), 2, evidence, clock, hours * HOUR, draws[:, -1:])
    return view, prior


def test_the_dry_mass_is_integrated_out_exactly() -> None:
    """Closed form against SciPy's quadrature over the unknown dry mass."""
    evidence = Evidence(weighed=weighed(LOSING))
    view, prior = a_view(evidence, 21.6)
    (signal,) = weighing_signal(view, prior)
    mean, covariance = water_prior(view, prior)
    expected = expected_weights(view, list(evidence.weighed), list(range(len(LOSING))), mean)
    seen = np.array([row.gross - row.tare for row in evidence.weighed])
    grid = np.linspace(-6.0, 6.0, 2401)
    for member in range(len(view.runs.draws)):
        cloud = multivariate_normal(np.zeros(len(seen)), expected.noise[member])
        middle, slope = expected.mean[member], expected.slope[member, :, 0]

        def log_both(z: Array, cloud: Any = cloud, middle: Array = middle, slope: Array = slope) -> Array:
            off = seen - middle - np.multiply.outer(z, slope)
            density: Array = cloud.logpdf(off) + norm.logpdf(z, mean[0], np.sqrt(covariance[0, 0]))
            return density

        peak = log_both(grid).max()
        at = float(grid[np.argmax(log_both(grid))])
        total, _error = quad(lambda z, top=peak: float(np.exp(log_both(z) - top)), at - 1.5, at + 1.5, points=[at])
        assert signal.loglik[member] == pytest.approx(np.log(total) + peak, abs=1e-4)


def test_an_oven_sample_is_read_as_a_normal_distribution_of_the_moisture() -> None:
    """Against SciPy's normal density; 15% spread in a tray and two or three pieces a sample: common practice."""
    row = OvenSample(1, 18 * HOUR, 0.005, 0.0047, 0.001)
    view, prior = a_view(Evidence(samples=(row,)), 18.1)
    (signal,) = oven_signals(view, prior)
    real = wet_moisture(view, 0, solids_of(view))
    scale = np.hypot(0.001 / np.sqrt(12) / 0.005, 0.001 / np.sqrt(12) * 0.0047 / 0.005**2)
    thin, thick = view.runs.moisture[:, 0, 0], view.runs.moisture[:, 0, 1]  # four fifths and one fifth of the mass
    between = 0.4 * np.abs(thick / (1.0 + thick) - thin / (1.0 + thin)) / np.sqrt(2.5)  # sqrt(0.8 x 0.2) apart
    spread = np.sqrt(np.maximum(0.15 * real, 0.002) ** 2 + scale**2 + between**2)
    np.testing.assert_allclose(signal.loglik, norm.logpdf(0.06, real, spread), rtol=1e-9)


def test_a_sample_alone_leaves_its_own_error() -> None:
    """Bayes' rule with a normal error and what was known before, on a grid of moistures: no sampling."""
    row = OvenSample(1, 14 * HOUR, 0.005, 0.0046, 1e-5)
    before = asked(Evidence(), 13.8, members=2000, classes=1)  # all pieces equally thick
    after = asked(Evidence(samples=(row,)), 14.0, members=2000, classes=1)
    logs = np.log([before.residual_moisture.low, before.residual_moisture.middle, before.residual_moisture.high])
    grid = np.linspace(0.001, 0.4, 20000)
    known = norm.pdf(np.log(grid), logs[1], (logs[2] - logs[0]) / (2 * 1.645)) / grid
    density = known * norm.pdf(0.08, grid, np.maximum(0.15 * grid, 0.002))
    reached = np.cumsum(density) / density.sum()
    exact = [float(grid[np.searchsorted(reached, share)]) for share in (0.05, 0.5, 0.95)]
    got = after.residual_moisture
    # a log-normal stands for what was known before: 6% for that
    assert [got.low, got.middle, got.high] == pytest.approx(exact, rel=0.06)


def test_activity_and_sample_of_dry_food_speak_for_dry() -> None:
    evidence = Evidence(
        samples=(OvenSample(1, 30 * HOUR, 0.005, 0.00494, 1e-5),), activities=(ActivityReading(1, 30 * HOUR, 0.04),)
    )
    answer = asked(evidence, 30.1)
    assert answer.verdict == "dry"
    assert all(piece.pull > -0.05 for piece in answer.pieces)  # most courses are dry by then without them


def exact_posterior(
    loads: Fit, slope: Array, seen: Array, noise: Array, blocks: Sequence[Sequence[int]]
) -> tuple[Array, Array]:
    """Mean and variance by Kalman's equations, for every combination of narrow and doubted blocks."""
    weights, means, squares = [], [], []
    for pattern in range(2 ** len(blocks)):
        covariance, chance = loads.covariance.copy(), 1.0
        for number, block in enumerate(blocks):
            wide = bool(pattern >> number & 1)
            chance *= DOUBT if wide else 1.0 - DOUBT
            covariance[np.ix_(block, block)] *= DOUBT_WIDTH**2 if wide else 1.0
        total = slope @ covariance @ slope.T + noise
        gain = covariance @ slope.T @ np.linalg.inv(total)
        mean = loads.mean + gain @ (seen - slope @ loads.mean)
        spread = covariance - gain @ slope @ covariance
        weights.append(chance * multivariate_normal.pdf(seen, slope @ loads.mean, total))
        means.append(mean)
        squares.append(np.diagonal(spread) + mean**2)
    shares = np.array(weights) / np.sum(weights)
    middle = shares @ np.array(means)
    return middle, shares @ np.array(squares) - middle**2


def test_sampling_agrees_with_the_exact_answer_of_a_linear_case() -> None:
    """Adaptive importance sampling against Kalman's equations (NumPy, SciPy): a case that needs several rounds."""
    prior, columns = prior_of(BERRIES), [columns_of(BERRIES, (0,))]
    size = len(prior[0])
    random = np.random.default_rng(11)
    slope = random.standard_normal((4, size))
    noise = 0.6**2 * np.eye(4)
    seen = slope @ (0.8 * random.standard_normal(size))
    parts: list[Array] = []

    def logliks() -> list[Array]:
        return [multivariate_normal.logpdf(seen - np.concatenate(parts) @ slope.T, np.zeros(4), noise)]

    count = 4000
    first = doubted(random.multivariate_normal(*prior, size=count), columns, prior, 1)
    plain = effective_size(normalised(multivariate_normal.logpdf(seen - first @ slope.T, np.zeros(4), noise)))
    draws, logs = adapt(parts.append, logliks, first, columns, prior, count, 3, 5)
    weights = normalised(logs[0])
    assert len(parts) > 1
    assert effective_size(weights) > 4.0 * plain
    shared = len(SHARED)
    blocks = [range(shared), range(shared, size - 1)]
    mean, variance = exact_posterior(Fit(*prior), slope, seen, noise, blocks)
    got = weights @ draws
    error = np.sqrt(variance / effective_size(weights))
    assert (np.abs(got - mean) < 4.0 * error + 0.01).all()
    np.testing.assert_allclose(weights @ (draws - got) ** 2, variance, rtol=0.25)


def test_weights_of_rounds_undo_where_the_draws_came_from() -> None:
    """The mean of what is known beforehand comes back from draws made elsewhere."""
    prior, columns = prior_of(BERRIES), [columns_of(BERRIES, (0,))]
    places = columns[0]
    away = Fit(prior[0][places] + 0.7, 0.6 * prior[1][np.ix_(places, places)])
    count = 20000
    first = doubted(np.random.default_rng(2).multivariate_normal(*prior, size=count), columns, prior, 3)
    draws = np.concatenate([first, draw_round([away], columns, prior, count, 4)])
    weights = normalised(log_ratio(draws, 0, columns, [Round(0.5), Round(0.5, (away,))], prior))
    assert np.abs(weights @ draws).max() < 0.05


WET_PIECES = {  # each with weighings that alone say: dry
    "a cold core": {"cuts": (CutPiece(1, 21.6 * HOUR, "cold"),)},
    "a soft core": {"cuts": (CutPiece(1, 21.6 * HOUR, "soft"),)},
    "an icy core": {"cuts": (CutPiece(1, 21.6 * HOUR, "ice"),)},
    "an icy core beside a dry one": {"cuts": (CutPiece(1, 21.5 * HOUR, "ice"), CutPiece(1, 21.6 * HOUR, "dry"))},
    "a cold probe": {"probes": (ProbeReading(1, 21.6 * HOUR, 258.0, 313.0),)},
    "a sample with 11% water": {"samples": (OvenSample(1, 21.6 * HOUR, 0.005, 0.00445),)},
    "a sample a little above the limit": {"samples": (OvenSample(1, 21.6 * HOUR, 0.010, 0.00960),)},
    "a sample at 0.62": {"activities": (ActivityReading(1, 21.6 * HOUR, 0.62),)},
}


@pytest.mark.parametrize("name", WET_PIECES)
def test_the_worst_piece_decides_whatever_the_weighings_say(name: str) -> None:
    alone = asked(Evidence(weighed=weighed(STEADY)), 22.0)
    assert (alone.verdict, alone.wet_piece) == ("dry", "")
    answer = asked(Evidence(weighed=weighed(STEADY), **WET_PIECES[name]), 22.0)
    assert answer.verdict != "dry"
    assert answer.wet_piece
    assert answer.probability_dry <= 0.5
    assert answer.words.startswith(("Not dry", "These numbers do not fit together"))


def test_a_wet_piece_counts_until_one_after_an_hour_more_of_drying_is_dry() -> None:
    wet = CutPiece(1, 18.6 * HOUR, "cold")
    early = asked(Evidence(weighed=weighed(STEADY), cuts=(wet, CutPiece(1, 19.0 * HOUR, "dry"))), 22.0)
    assert early.wet_piece
    late = asked(Evidence(weighed=weighed(STEADY), cuts=(wet, CutPiece(1, 21.6 * HOUR, "dry"))), 22.0)
    assert late.wet_piece == ""
    assert late.verdict in ("dry", "nearly")
    above, within = OvenSample(1, 18.6 * HOUR, 0.010, 0.00945), OvenSample(1, 21.6 * HOUR, 0.010, 0.00980)
    assert asked(Evidence(weighed=weighed(STEADY), samples=(above,)), 22.0).wet_piece
    assert not asked(Evidence(weighed=weighed(STEADY), samples=(above, within)), 22.0).wet_piece


def test_on_a_tray_of_several_foods_each_is_dry_or_the_tray_is_not() -> None:
    berries, chicken = "Blueberries, raw", "Chicken, breast, boneless, skinless, raw"
    rows = [
        {"food": berries, "mass": "0.5 kg", "shape": "sphere", "size": "13 mm", "area": "0.06 m^2"},
        {"food": chicken, "mass": "0.3 kg", "shape": "slab", "size": "16 mm", "area": "0.04 m^2"},
    ]
    load = parse_load(
        {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["-10 degC for 2 h", "45 degC until dry"]}, "tray": rows}
    )
    sample_times = [HOUR * hour for hour in range(6, 60, 3)]
    draws = seeing.load_samples(load, 60, 3)
    runs = run_courses(load, draws, program_to(load, sample_times[-1]), sample_times, 2, None, lambda _count: None)
    held = np.zeros((60, 2))
    (view,) = views_of(load, runs, [(0, 1)], 2, Evidence(), seeing.NEVER, sample_times[-1], held)
    targets = np.array([item.target / (1.0 - item.target) for item in load.items])
    seen = 0
    for index in range(len(sample_times)):
        dry = is_dry(view, index) == 1.0
        seen += dry.sum()
        assert (moisture_of(view, index)[dry] <= targets * 1.001).all()
        assert (wettest_activity(view, index, 1) >= 0.0).all()
    assert 0 < seen < 60 * len(sample_times)


def test_the_wettest_pieces_are_never_drier_than_the_average() -> None:
    view = seeing.batch_view(members=40)
    for index in (10, 20, 30):
        odds = wettest_activity(view, index, 7) / (1.0 - wettest_activity(view, index, 7))
        mean = activity_of(view, index)
        errors = np.exp(0.5 * np.random.default_rng([7, index]).standard_normal(40))
        assert (odds / errors >= mean / (1.0 - mean) * 0.999).all()
