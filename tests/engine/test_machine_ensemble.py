"""Many runs of one load: the same numbers whoever runs them, and the causes of their spread."""

import math
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm, sobol_indices

from drystow.errors import InputError
from drystow.machine.ensemble import Members, causes_of, simulate_members, simulate_spread
from drystow.machine.load import Load
from drystow.machine.loadfile import read_load
from drystow.machine.run import simulate
from drystow.machine.sampling import PER_ITEM, SHARED, TOGETHER, column, load_samples, standard_samples
from drystow.numerics import Array

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def load() -> Load:
    return read_load(EXAMPLES / "mixed-load.toml")


@pytest.fixture(scope="module")
def runs(load: Load) -> Members:
    return simulate_members(load, load_samples(load, 200), sample_times=(0.0, 6 * 3600.0, 60 * 3600.0))


def test_members_without_any_deviation_are_the_plain_simulation(load: Load) -> None:
    plain = simulate(load)
    runs = simulate_members(load, np.zeros((2, len(SHARED) + len(PER_ITEM) * len(load.items))))
    for number, tray in enumerate(plain.trays):
        assert tray.dry_end is not None
        assert runs.dry[0, number] == pytest.approx(tray.dry_end, rel=1e-3)
    assert runs.end[1] == pytest.approx(plain.total_time, rel=1e-3)


def test_one_thread_all_cores_and_a_cluster_give_the_same_numbers(load: Load, runs: Members) -> None:
    with ThreadPoolExecutor(1) as executor:
        alone = simulate_members(load, runs.draws, sample_times=runs.sample_times, executor=executor)
    np.testing.assert_array_equal(alone.dry, runs.dry)
    np.testing.assert_array_equal(alone.moisture, runs.moisture)


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_dask_client_runs_the_chunks(load: Load) -> None:
    from distributed import Client, LocalCluster

    draws = load_samples(load, 60)
    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None
        ) as cluster,
        Client(cluster) as client,
    ):  # type: ignore[no-untyped-call]
        there = simulate_members(load, draws, executor=client)
    np.testing.assert_array_equal(there.end, simulate_members(load, draws).end)


def test_looks_lie_on_the_recorded_course(load: Load, runs: Members) -> None:
    first, late = runs.moisture[:, 0], runs.moisture[:, 2]
    for number, item in enumerate(load.items):
        water = runs.trays[:, number]
        solids = item.mass - item.water  # mean of the draws
        assert np.median(first[:, number]) == pytest.approx(item.water / solids, rel=0.05)
        assert (late[:, number] < first[:, number]).all()
        assert water.shape == (200, runs.trays.shape[2])
    assert (np.diff(runs.dried_fraction, axis=1) >= 0.0).all()


def test_draws_are_standard_normal_and_correlated_as_stated(load: Load) -> None:
    draws = load_samples(load, 4000, seed=3)
    assert np.abs(draws.mean(axis=0)).max() < 0.05
    assert np.abs(draws.std(axis=0) - 1.0).max() < 0.08
    classes = [item.food.food_class for item in load.items]
    first = classes.index("fruit")
    second = classes.index("fruit", first + 1)
    together = np.corrcoef(draws[:, column("resistance", first)], draws[:, column("resistance", second)])[0, 1]
    assert together == pytest.approx(TOGETHER["resistance"][1], abs=0.05)
    apart = np.corrcoef(draws[:, column("thickness", first)], draws[:, column("thickness", second)])[0, 1]
    assert abs(apart) < 0.06


@pytest.mark.parametrize("method", ["latin", "sobol"])
def test_both_ways_of_drawing_spread_evenly(method: str) -> None:
    draws = standard_samples(256, 5, 1, method)
    counts = np.histogram(norm.cdf(draws[:, 2]), bins=16, range=(0, 1))[0]
    assert counts.min() >= 12  # 16 each if perfect; independent draws would leave 6 to 28


def test_an_unknown_way_of_drawing_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="there is no way of drawing called 'dice'"):
        standard_samples(4, 2, 1, "dice")


def test_shares_agree_with_sobol_indices_of_an_independent_library(load: Load) -> None:
    """Source: SciPy's sobol_indices (Saltelli's estimator), an independent implementation, on the same function."""
    weights = {"contact": -2.0, "desorption": 1.0, "shelf": 0.5}
    columns = [column("contact"), column("desorption", 0), column("shelf")]

    def answer(normals: Array) -> Array:
        contact, desorption, shelf = normals
        result: Array = np.exp(0.2 * weights["contact"] * contact) + desorption**2 + weights["shelf"] * shelf
        return result

    draws = load_samples(load, 4000, seed=5)
    runs = Members(**{name: draws if name == "draws" else np.zeros((4000, 1, 5)) for name in Members.__annotations__})
    ours = {cause.key: cause.share for cause in causes_of(runs, answer(draws[:, columns].T), 0)}
    theirs = sobol_indices(func=answer, n=2**13, dists=[norm(), norm(), norm()], rng=np.random.default_rng(1))
    for key, share in zip(weights, theirs.first_order, strict=True):
        assert ours[key] == pytest.approx(share, abs=0.03)
    assert all(share < 0.01 for key, share in ours.items() if key not in weights)


def test_too_few_members_give_no_shares(load: Load) -> None:
    spread = simulate_spread(load, 40)
    assert causes_of(spread.runs, spread.runs.end) == ()
    assert math.isfinite(spread.total[1])


def test_what_earlier_batches_taught_moves_and_narrows_the_draws(load: Load) -> None:
    draws = load_samples(load, 2000, known={("contact", ""): (-1.0, 0.2), ("desorption", "fruit"): (1.0, 0.1)})
    assert draws[:, column("contact")].mean() == pytest.approx(-1.0, abs=0.02)
    assert draws[:, column("contact")].std() == pytest.approx(0.2, abs=0.02)
    fruit = [item.food.food_class for item in load.items].index("fruit")
    shared = TOGETHER["desorption"][1]
    assert draws[:, column("desorption", fruit)].mean() == pytest.approx(math.sqrt(shared), abs=0.05)
    assert draws[:, column("desorption", fruit)].std() == pytest.approx(math.sqrt(1 - shared + shared * 0.01), abs=0.03)
