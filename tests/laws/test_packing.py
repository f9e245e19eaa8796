"""Laws that packing and rehydration keep whatever the numbers."""

from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.packing.containers import containers, fill
from drystow.packing.moisture import days_to_moisture, time_to_moisture
from drystow.packing.oxygen import SACHET_SIZES, absorbers_for, oxygen_volume_ml, pressure_at_altitude
from drystow.packing.seasons import DAY, YEAR, StoreSeason, constant
from drystow.serving.rehydration import coefficient_of_restoration, dried_from_fresh, fresh_equivalent, water_to_add

WVTR = st.floats(1e-9, 1e-6)


@given(oxygen=st.floats(0.1, 2e4), margin=st.floats(1.0, 2.0))
def test_absorbers_are_enough_and_no_choice_is_smaller(oxygen: float, margin: float) -> None:
    choice = absorbers_for(oxygen, margin)
    assert choice.capacity_ml >= oxygen * margin * (1 - 1e-9)
    assert (len(choice.sachets) - 1) * max(SACHET_SIZES) < oxygen * margin  # one sachet fewer can never do
    smaller = [size for size in SACHET_SIZES if size < choice.sachets[-1]]
    assert all(sum(choice.sachets[:-1]) + size < oxygen * margin for size in smaller)


@given(oxygen=st.floats(2001, 5990))
@settings(max_examples=40)
def test_absorbers_have_the_least_excess_of_all_combinations(oxygen: float) -> None:
    from itertools import combinations_with_replacement

    choice = absorbers_for(oxygen, 1.0)
    best = min(
        sum(sizes) for sizes in combinations_with_replacement(SACHET_SIZES, len(choice.sachets)) if sum(sizes) >= oxygen
    )
    assert choice.capacity_ml == best


def test_a_share_below_one_is_read_as_extra() -> None:
    assert absorbers_for(400, 0.25) == absorbers_for(400, 1.25)


@given(low=st.floats(0, 5000), step=st.floats(1, 3000))
def test_less_oxygen_higher_up(low: float, step: float) -> None:
    lower, higher = (float(oxygen_volume_ml(3e-3, 0.2, 1500.0, h, 294.0)) for h in (low, low + step))
    assert higher < lower
    assert pressure_at_altitude(low + step) < pressure_at_altitude(low)


@given(mass=st.floats(0.0, 1.0), scale=st.floats(1.1, 5.0))
def test_oxygen_grows_with_the_container_and_falls_with_food(mass: float, scale: float) -> None:
    assert oxygen_volume_ml(2e-3 * scale, mass, 1400.0, 0.0, 294.0) > oxygen_volume_ml(2e-3, mass, 1400.0, 0.0, 294.0)
    assert oxygen_volume_ml(2e-3, mass, 1400.0, 0.0, 294.0) <= oxygen_volume_ml(2e-3, 0.0, 1400.0, 0.0, 294.0)


def test_arrays_give_what_single_numbers_give() -> None:
    volumes = np.array([1e-3, 2e-3, 3e-3])
    together = oxygen_volume_ml(volumes, 0.1, 1400.0, 500.0, 294.0)
    assert list(together) == [oxygen_volume_ml(float(v), 0.1, 1400.0, 500.0, 294.0) for v in volumes]


@given(wvtr=WVTR, slope=st.floats(0.1, 0.4), share=st.floats(0.1, 0.8))
@settings(max_examples=60, deadline=None)
def test_integration_becomes_the_closed_formula_for_a_straight_isotherm(
    wvtr: float, slope: float, share: float
) -> None:
    humidity, initial = 0.5, 0.1 * slope
    equilibrium = slope * humidity
    critical = initial + share * (equilibrium - initial)
    closed = days_to_moisture(wvtr, 0.1, 0.15, initial, critical, equilibrium, slope, 294.15)
    stepped = time_to_moisture(
        wvtr, 0.1, 0.15, initial, critical, lambda m: m / slope, constant(294.15, humidity), horizon=1e4 * YEAR
    )
    assert stepped.time / DAY == pytest.approx(closed, rel=1e-4)


@given(wvtr=WVTR, factor=st.floats(1.1, 10))
def test_a_tighter_wall_keeps_in_proportion_longer(wvtr: float, factor: float) -> None:
    times = [days_to_moisture(w, 0.1, 0.1, 0.02, 0.06, 0.1, 0.2, 294.15) for w in (wvtr, wvtr * factor)]
    assert times[0] == pytest.approx(factor * times[1], rel=1e-9)


@pytest.mark.parametrize("humidity", [0.0, 0.2, 0.28])
def test_a_store_too_dry_to_reach_the_limit_never_does(humidity: float) -> None:
    found = time_to_moisture(1e-7, 0.1, 0.1, 0.02, 0.06, lambda m: m / 0.2, constant(294.15, humidity))
    assert found.time == inf
    assert found.moisture == pytest.approx(0.2 * humidity, abs=1e-6)


def test_a_year_cut_into_equal_seasons_is_the_same_year() -> None:
    cut = tuple(StoreSeason(YEAR / 4, 294.15, 0.5) for _ in range(4))
    whole, parts = (
        time_to_moisture(1e-9, 0.1, 0.1, 0.02, 0.06, lambda m: m / 0.2, seasons)
        for seasons in (constant(294.15, 0.5), cut)
    )
    assert parts.time == pytest.approx(whole.time, rel=1e-4)


@given(mass=st.floats(0.01, 50.0), density=st.floats(20.0, 900.0), key=st.sampled_from(sorted(containers())))
def test_filling_loses_nothing_and_never_overfills(mass: float, density: float, key: str) -> None:
    filling = fill(containers()[key], mass, density, powder=False)
    assert filling.count * filling.mass_each == pytest.approx(mass)
    assert 0 < filling.fill <= 1 + 1e-9
    if filling.count > 1:
        assert (filling.count - 1) * filling.container.volume * density < mass * (1 + 1e-6)


@given(mass=st.floats(1e-3, 100), dry=st.floats(0.0, 0.1), fresh=st.floats(0.3, 0.97))
def test_water_balance_closes_between_fresh_and_dried(mass: float, dry: float, fresh: float) -> None:
    water = water_to_add(mass, dry, fresh)
    assert (dry * mass + water) / (mass + water) == pytest.approx(fresh)
    assert dried_from_fresh(fresh_equivalent(mass, dry, fresh), dry, fresh) == pytest.approx(mass)
    assert coefficient_of_restoration(mass + water, mass, dry, fresh) == pytest.approx(1.0)
