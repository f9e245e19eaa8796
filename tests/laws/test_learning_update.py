"""The update by which batches teach: exact for linear sights, near importance sampling for others."""

import numpy as np
from scipy.stats import multivariate_normal

from drystow.evidence.learning.learn import Prior, drawn, iterate
from drystow.evidence.learning.learned import NOTHING_LEARNED, forget, with_keys
from drystow.numerics import Array
from tests.loads import machine, tray


def some_problem(random: np.random.Generator, wanted: int, read: int) -> Prior:
    root = random.standard_normal((wanted + read, wanted + read)) / 2.0
    return Prior(random.standard_normal(wanted + read), root @ root.T + 0.3 * np.eye(wanted + read), read)


def test_linear_sights_are_learned_exactly() -> None:
    """Against the closed form of a conditional normal distribution (any text on multivariate statistics)."""
    random = np.random.default_rng(3)
    problem = some_problem(random, 3, 5)
    slope, constant, observed = random.standard_normal((4, 5)), random.standard_normal(4), random.standard_normal(4)
    noise = np.diag([0.1, 0.2, 0.3, 0.4])

    mean, covariance = iterate(problem, lambda draws: (constant + draws @ slope.T, noise), observed, members=60)

    sight = np.hstack([np.zeros((4, 3)), slope])
    precision = np.linalg.inv(problem.covariance) + sight.T @ np.linalg.inv(noise) @ sight
    exact = np.linalg.inv(precision)
    middle = exact @ (
        np.linalg.inv(problem.covariance) @ problem.mean + sight.T @ np.linalg.inv(noise) @ (observed - constant)
    )
    np.testing.assert_allclose(covariance, exact, rtol=1e-6, atol=1e-7)
    np.testing.assert_allclose(mean, middle, rtol=1e-6, atol=1e-7)


def test_sights_one_after_another_teach_what_they_teach_together() -> None:
    random = np.random.default_rng(4)
    problem = some_problem(random, 1, 3)
    slope, observed, noise = random.standard_normal((4, 3)), random.standard_normal(4), 0.2 * np.eye(4)
    first = iterate(problem, lambda draws: (draws @ slope[:2].T, noise[:2, :2]), observed[:2], members=40)
    both = iterate(Prior(*first, 3), lambda draws: (draws @ slope[2:].T, noise[2:, 2:]), observed[2:], members=40)
    other = iterate(problem, lambda draws: (draws @ slope[2:].T, noise[2:, 2:]), observed[2:], members=40)
    swapped = iterate(Prior(*other, 3), lambda draws: (draws @ slope[:2].T, noise[:2, :2]), observed[:2], members=40)
    np.testing.assert_allclose(both[0], swapped[0], atol=1e-6)
    np.testing.assert_allclose(both[1], swapped[1], atol=1e-6)


def test_curved_sights_come_near_importance_sampling() -> None:
    """A time that falls with two exponentials, as drying times do, against 200 000 weighted draws from the prior."""
    problem = Prior(np.zeros(3), np.eye(3), 3)

    def sight(draws: Array) -> Array:
        resistances = np.exp(-0.2 * draws[:, 0]) + 0.7 * np.exp(0.4 * draws[:, 1])
        return np.stack([np.log(resistances) + 0.1 * draws[:, 2], np.exp(-0.3 * draws[:, 0])], axis=1)

    observed, noise = np.array([0.75, 1.35]), np.diag([0.05**2, 0.1**2])
    mean, covariance = iterate(problem, lambda draws: (sight(draws), noise), observed, members=300, rounds=4)

    draws = np.random.default_rng(1).standard_normal((200_000, 3))
    logs = multivariate_normal.logpdf(sight(draws), observed, noise)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    middle = weights @ draws
    spread = np.sqrt(weights @ (draws - middle) ** 2)
    np.testing.assert_allclose(mean, middle, atol=0.12)  # of the untaught spread of 1
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), spread, rtol=0.12)


def test_draws_have_the_mean_and_the_covariance_they_are_drawn_from() -> None:
    random = np.random.default_rng(5)
    problem = some_problem(random, 1, 2)
    draws = drawn(problem.mean, problem.covariance, 4000, 1)
    np.testing.assert_allclose(draws.mean(axis=0), problem.mean, atol=0.05)
    np.testing.assert_allclose(np.cov(draws, rowvar=False), problem.covariance, rtol=0.1, atol=0.05)


def test_forgetting_leads_back_to_the_published_values() -> None:
    calibrated = with_keys(NOTHING_LEARNED, machine(tray()))
    count = len(calibrated.keys)
    sure = type(calibrated)(
        calibrated.keys, np.full(count, 1.5), 0.04 * np.eye(count), tuple(9 for _ in range(count)), 9, 20000.0
    )

    old = forget(sure, days=1e6)
    for cause, group in sure.keys:
        mean, width, _count = old.number(cause, group)
        assert (round(mean, 6), round(width, 6)) == ((0.0, 1.0) if group == "" else (1.5, 0.2))
    oiled = forget(sure, services=["oil"])
    assert oiled.number("air")[1] > 0.9
    assert oiled.number("contact") == sure.number("contact")
    assert (np.linalg.eigvalsh(oiled.covariance) > 0.0).all()
