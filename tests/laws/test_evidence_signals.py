"""Probe, pressure rise, curves and cut: which way they pull, how far, and that they make the answer no worse."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from drystow.evidence.dryness.chamber import closed_chamber, vapour_after
from drystow.evidence.dryness.courses import View
from drystow.evidence.dryness.curves import expected_power
from drystow.evidence.dryness.observed import (
    CutPiece,
    Evidence,
    ObservedRise,
    PowerReading,
    PressureReading,
    ProbeReading,
    Weighed,
)
from drystow.evidence.dryness.posterior import normalised, prior_of
from drystow.evidence.dryness.reading import all_ice_gone, is_dry
from drystow.evidence.dryness.signals import SIGNALS
from drystow.evidence.dryness.weighings import weighings_of
from drystow.machine.run import simulate
from drystow.numerics import Array
from drystow.properties.water import ice_vapour_pressure, sublimation_heat
from tests import signal_batches as seeing

HOUR = seeing.HOUR
VIEW = seeing.batch_view(members=250)
PRIOR = prior_of(VIEW.load)
LATE = next(index for index in range(len(VIEW.runs.sample_times)) if is_dry(VIEW, index).mean() > 0.15)
"""Index of a sample time at which some members are dry and some have ice."""

SHELF = 318.15


def told(evidence: Evidence, view: View = VIEW) -> Array:
    """Log-likelihood of every member."""
    seen = seeing.seen_of(view, evidence)
    return sum((one.loglik for ask in SIGNALS for one in ask(seen, PRIOR)), np.zeros(len(view.runs.draws)))


def odds(loglik: Array, state: Array) -> float:
    """Ratio of likelihoods of members in a state and of the others, in powers of ten."""
    chance, before = float(normalised(loglik) @ state), float(state.mean())
    return float(np.log10(chance / (1.0 - chance)) - np.log10(before / (1.0 - before)))


def moment(index: int) -> float:
    return float(VIEW.runs.sample_times[index])


def probe(product: float, index: int = LATE) -> Evidence:
    return Evidence(probes=(ProbeReading(1, moment(index), product, SHELF),))


def rise(after: float, index: int = LATE) -> Evidence:
    return Evidence(rises=(ObservedRise(moment(index), 30.0, 15.0, after),))


def test_there_are_dry_and_icy_members_to_tell_apart() -> None:
    assert 0.1 < is_dry(VIEW, LATE).mean() < 0.9
    assert 0.02 < all_ice_gone(VIEW, LATE - 2).mean() < 0.95


def test_a_probe_at_the_shelf_leaves_ice_where_it_sits_next_to_impossible() -> None:
    index = 4  # ice in every piece of every member
    assert (VIEW.runs.dried_fraction[:, index] < 0.95).all()
    late = len(VIEW.runs.sample_times) - 1  # no ice in any
    assert (VIEW.runs.dried_fraction[:, late] == 1.0).all()
    warm, cold = probe(SHELF - 1.0, index), probe(SHELF - 1.0, late)
    assert told(warm).max() < told(cold).mean() - np.log(10.0)


def test_a_probe_speaks_more_of_the_piece_it_sits_in_than_of_the_thick_ones() -> None:
    index = LATE - 1
    thin, thick = VIEW.parts[0][0], VIEW.parts[0][-1]
    gone = [(VIEW.runs.dried_fraction[:, index, part] >= 1.0).astype(float) for part in (thin, thick)]
    loglik = told(probe(SHELF - 8.0, index))
    assert odds(loglik, gone[0]) > odds(loglik, gone[1])
    left = 1.0 - float(normalised(loglik) @ gone[1])
    assert left > 0.2 * (1.0 - gone[1].mean())  # thick pieces may well hold ice still


def test_a_cold_probe_speaks_against_dry() -> None:
    state = all_ice_gone(VIEW, LATE - 2)
    assert odds(told(probe(250.0, LATE - 2)), state) < -0.7


def test_pressure_rises_pull_down_the_more_they_rise() -> None:
    index = LATE + 4
    dry = is_dry(VIEW, index)
    pulls = [odds(told(rise(after, index)), dry) for after in (18.0, 25.0, 40.0, 80.0)]
    assert pulls[0] > 0.5
    assert pulls[-1] < -0.5
    assert np.all(np.diff(pulls) < 0.0)


def test_a_rise_as_small_as_the_driest_members_make_it_leaves_little_room_for_ice() -> None:
    index = LATE + 1
    icy = 1.0 - all_ice_gone(VIEW, index)
    rises = vapour_after(closed_chamber(VIEW, index), np.full(len(icy), 10.0), 30.0) - 10.0
    small = float(np.quantile(rises, 0.05))
    assert rises[icy == 1.0].min() > small
    assert normalised(told(rise(15.0 + small, index))) @ icy < 0.2 * icy.mean()


def test_a_rise_that_no_course_explains_tells_hardly_anything_for_the_way_was_not_closed() -> None:
    index = 4  # ice in every member, and yet no rise
    assert np.ptp(told(rise(15.0, index))) < 1.0


def test_the_vapour_at_closing_is_the_vapour_of_the_run() -> None:
    for index in range(2, 30):
        closed = closed_chamber(VIEW, index)
        over_ice = ice_vapour_pressure(closed.front)
        flow = (closed.ease * (over_ice - closed.vapour[:, None])).sum(axis=1) + closed.desorbing
        ratio = flow / VIEW.runs.vapour[:, index]
        assert np.median(ratio) == pytest.approx(1.0, abs=2e-3)
        assert np.abs(ratio - 1.0).max() < 0.3  # the sample times lie between the steps of the run


def test_vapour_and_warming_use_up_the_heat_that_comes_to_the_front() -> None:
    closed = closed_chamber(VIEW, 4)
    closed = replace(closed, desorbing=np.zeros_like(closed.desorbing), damping=np.zeros_like(closed.damping))
    one = closed_of(closed, 0)
    short = vapour_after(one, one.vapour, 1e-3)
    flow = (short - one.vapour) / one.gas / 1e-3
    heat = float(one.heat.sum())
    assert float(flow[0]) * float(sublimation_heat(float(one.front.mean()))) == pytest.approx(
        heat, rel=5e-3
    )  # heat of the mean front
    longer = [float(vapour_after(one, one.vapour, time)[0]) for time in (1.0, 10.0, 60.0, 300.0)]
    assert np.all(np.diff(longer) > 0.0)  # the front warms on
    assert longer[-1] < 611.2


def closed_of(closed: Any, member: int) -> Any:
    return type(closed)(**{name: value[member : member + 1] for name, value in vars(closed).items()})


def test_the_power_is_that_of_the_run() -> None:
    view = seeing.batch_view(members=2)
    nominal = replace(view, runs=replace(view.runs, draws=np.zeros_like(view.runs.draws)))
    result = simulate(view.load)
    energy = result.energy.heaters + result.energy.refrigeration + result.energy.pump
    course, time = result.energy.time - result.drying_start, result.time - result.drying_start
    for hour in (4, 6, 9):
        here = moment(hour - 1)
        shelf = np.interp(here, time, result.shelf_temperature)
        vapour = np.interp(here, time, result.vapour)
        index = hour - 1
        runs = nominal.runs
        shelves, flows = runs.shelf.copy(), runs.vapour.copy()
        shelves[:, index], flows[:, index] = shelf, vapour
        empty, _heaters, load = expected_power(
            replace(nominal, runs=replace(runs, shelf=shelves, vapour=flows)), [index]
        )
        real = np.diff(np.interp([here - 300.0, here + 300.0], course, energy))[0] / 600.0
        assert float(empty[0, 0] + load[0, 0]) == pytest.approx(real, rel=0.05)


def test_falling_pressure_and_power_speak_for_dry() -> None:
    dry = is_dry(VIEW, LATE)
    low, high = np.quantile(VIEW.runs.pressure[:, LATE], [0.02, 0.98])
    assert odds(told(Evidence(pressures=(PressureReading(moment(LATE), 0.8 * low),))), dry) > odds(
        told(Evidence(pressures=(PressureReading(moment(LATE), 1.8 * high),))), dry
    )
    empty, _heaters, load = expected_power(VIEW, [LATE])
    off, on = float(empty.mean()), float((empty + load).max())
    fewer = odds(told(Evidence(powers=(PowerReading(moment(LATE), off),))), dry)
    more = odds(told(Evidence(powers=(PowerReading(moment(LATE), on + 60.0),))), dry)
    assert fewer > more


def test_findings_pull_in_their_order() -> None:
    dry = is_dry(VIEW, LATE)
    pulls = [
        odds(told(Evidence(cuts=(CutPiece(1, moment(LATE) + 240.0, found),))), dry) for found in ("dry", "cold", "ice")
    ]
    assert pulls[0] > 0.0 > pulls[1] >= pulls[2]


def some_evidence() -> Evidence:
    random = np.random.default_rng(3)
    indices = [LATE - 6, LATE - 3, LATE]
    return Evidence(
        probes=seeing.probe_rows(VIEW, 7, indices, random),
        rises=seeing.rise_rows(VIEW, 7, indices, random),
        pressures=seeing.pressure_rows(VIEW, 7, indices, random),
        powers=seeing.power_rows(VIEW, 7, indices, random),
        cuts=seeing.cut_rows(VIEW, 7, LATE, random) + seeing.cut_rows(VIEW, 7, LATE - 3, random),
    )


def test_the_order_of_the_evidence_does_not_matter() -> None:
    seen = some_evidence()
    turned = Evidence(**{name: tuple(reversed(rows)) for name, rows in vars(seen).items()})
    np.testing.assert_allclose(told(turned), told(seen), rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("kind", ["pressures", "powers", "probes", "rises"])
def test_ten_readings_in_ten_minutes_do_not_count_ten_times(kind: str) -> None:
    row: Any = getattr(some_evidence(), kind)[-1]
    many = tuple(replace(row, time=row.time - 60.0 * number) for number in range(10))
    once, often = told(Evidence(**{kind: (row,)})), told(Evidence(**{kind: many}))
    assert np.ptp(often) < 3.5 * np.ptp(once)


KINDS: dict[str, Callable[[int, int, np.random.Generator], Evidence]] = {
    "probe": lambda member, index, random: Evidence(probes=seeing.probe_rows(VIEW, member, before(index), random)),
    "rise": lambda member, index, random: Evidence(rises=seeing.rise_rows(VIEW, member, [index], random)),
    "pressure": lambda member, index, random: Evidence(
        pressures=seeing.pressure_rows(VIEW, member, before(index), random)
    ),
    "power": lambda member, index, random: Evidence(powers=seeing.power_rows(VIEW, member, before(index), random)),
    "cut": lambda member, index, random: Evidence(cuts=seeing.cut_rows(VIEW, member, index, random)),
}


def before(index: int) -> list[int]:
    return [index - 9, index - 6, index - 3, index]


def test_every_sign_makes_the_chance_of_dry_no_worse_on_batches_that_were_made_up() -> None:
    random = np.random.default_rng(11)
    members = len(VIEW.runs.draws)
    truths, without = [], []
    chances: dict[str, list[float]] = {name: [] for name in (*KINDS, "all")}
    for _batch in range(80):
        member, index = int(random.integers(members)), int(random.integers(12, 21))
        dry, others = is_dry(VIEW, index), np.arange(members) != member
        truths.append(dry[member])
        without.append(float(dry[others].mean()))
        total = np.zeros(members)
        for name, make in KINDS.items():
            loglik = told(make(member, index, random))
            total += loglik
            chances[name].append(float(normalised(loglik[others]) @ dry[others]))
        chances["all"].append(float(normalised(total[others]) @ dry[others]))
    real = np.array(truths)
    plain = float(((np.array(without) - real) ** 2).mean())
    briers = {name: float(((np.array(values) - real) ** 2).mean()) for name, values in chances.items()}
    for name, brier in briers.items():
        assert brier < plain + 0.01, name
    assert briers["all"] < 0.7 * plain
    sure = np.array(chances["all"]) >= 0.98
    assert sure.sum() >= 8
    assert real[sure].mean() > 0.9


def test_a_wrapper_on_the_scale_is_no_food() -> None:
    bare = replace(VIEW, evidence=Evidence(weighed=(Weighed(VIEW.tray, moment(LATE), 1.5, 0.5),)))
    first, *others = VIEW.load.items
    wrapped = replace(VIEW.load, items=(replace(first, wrapper_mass=0.04), *others))
    heavier = replace(bare, load=wrapped, evidence=Evidence(weighed=(Weighed(VIEW.tray, moment(LATE), 1.54, 0.5),)))
    (one,), (other,) = weighings_of(bare), weighings_of(heavier)
    assert one.gross - one.tare == pytest.approx(other.gross - other.tare)
