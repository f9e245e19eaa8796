"""Laws that food properties obey whatever the food."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.foods.model import Composition
from drystow.properties import components, thermal
from drystow.properties.glass import gordon_taylor
from drystow.properties.ice import ice_fraction, ice_fraction_chen, ice_fraction_tchigeov, unfreezable_water
from drystow.properties.sorption import gab_moisture, gab_slope, gab_water_activity
from drystow.properties.water import ice_temperature, ice_vapour_pressure


@st.composite
def compositions(draw: st.DrawFn) -> Composition:
    shares = [draw(st.floats(0.01, 1.0)) for _ in range(5)]
    water = draw(st.floats(0.1, 0.97))
    scale = (1.0 - water) / sum(shares)
    protein, fat, carbohydrate, fibre, ash = (share * scale for share in shares)
    sugars = draw(st.floats(0.0, 1.0)) * carbohydrate
    return Composition(water, protein, fat, carbohydrate, fibre, ash, sugars=sugars)


freezing_points = st.floats(265.0, 273.0)
temperatures = np.linspace(228.15, 300.0, 400)


@given(st.floats(135.0, 273.16))
def test_ice_temperature_inverts_ice_vapour_pressure(temperature: float) -> None:
    assert ice_temperature(ice_vapour_pressure(temperature)) == pytest.approx(temperature, abs=1e-7)


@given(st.floats(0.0, 0.99), st.floats(0.02, 0.2), st.floats(0.3, 60.0), st.floats(0.5, 1.3))
def test_the_inverse_of_gab_gives_back_the_water_activity(share: float, monolayer: float, c: float, k: float) -> None:
    activity = share * min(1.0, 1.0 / k)
    moisture = gab_moisture(activity, monolayer, c, k)
    assert gab_water_activity(moisture, monolayer, c, k) == pytest.approx(activity, abs=1e-9)


@given(st.floats(0.01, 0.9), st.floats(0.02, 0.2), st.floats(0.5, 60.0), st.floats(0.5, 1.05))
def test_the_slope_of_gab_is_its_derivative(activity: float, monolayer: float, c: float, k: float) -> None:
    step = 1e-6
    rise = gab_moisture(activity + step, monolayer, c, k) - gab_moisture(activity - step, monolayer, c, k)
    assert gab_slope(activity, monolayer, c, k) == pytest.approx(rise / (2 * step), rel=1e-4)


@given(compositions(), freezing_points)
def test_ice_grows_with_cold_and_stays_within_the_water(composition: Composition, freezing_point: float) -> None:
    ice = np.asarray(ice_fraction(composition, freezing_point, temperatures))
    assert np.all(np.diff(ice) <= 1e-12)
    assert np.all((ice >= 0.0) & (ice <= composition.water - unfreezable_water(composition) + 1e-12))
    assert np.all(ice[temperatures >= freezing_point] == 0.0)


@given(st.floats(0.1, 0.95), freezing_points)
def test_both_published_ice_curves_start_at_the_freezing_point(water: float, freezing_point: float) -> None:
    for curve in (
        ice_fraction_tchigeov(water, freezing_point, temperatures),
        ice_fraction_chen(water, 0.0, freezing_point, temperatures),
    ):
        ice = np.asarray(curve)
        assert np.all(np.diff(ice) <= 1e-12)
        assert np.all((ice >= 0.0) & (ice <= water))
        assert np.all(ice[temperatures >= freezing_point] == 0.0)


@given(compositions(), freezing_points)
@settings(max_examples=50)
def test_enthalpy_rises_with_temperature_and_can_be_inverted(composition: Composition, freezing_point: float) -> None:
    table = thermal.enthalpy_table(composition, freezing_point)
    assert np.all(np.diff(table[0]) > 0.0)
    assert np.all(np.diff(table[1]) > 0.0)
    middle = 0.5 * (table[0][1:] + table[0][:-1])
    exact = thermal.enthalpy_curve(composition, freezing_point, middle)
    assert np.max(np.abs(thermal.temperature_of(exact, table) - middle)) < 0.2


@given(compositions(), freezing_points, st.floats(234.0, 272.0))
def test_enthalpy_slope_is_the_heat_capacity_once_nothing_freezes(
    composition: Composition, freezing_point: float, temperature: float
) -> None:
    above = freezing_point + 1.0 + (temperature - 234.0)
    step = 1e-3
    rise = thermal.enthalpy_curve(composition, freezing_point, np.array([above - step, above + step]))
    slope = float(np.diff(np.asarray(rise))[0]) / (2 * step)
    if abs(above - 273.15) > 2 * step:
        assert slope == pytest.approx(float(thermal.heat_capacity(composition, above)), rel=1e-4)


@given(compositions(), freezing_points, st.floats(235.0, 290.0))
def test_conductivity_lies_between_series_and_parallel(
    composition: Composition, freezing_point: float, temperature: float
) -> None:
    ice = ice_fraction(composition, freezing_point, temperature)
    low = thermal.conductivity_series(composition, temperature, ice)
    high = thermal.conductivity_parallel(composition, temperature, ice)
    for model in (thermal.conductivity_levy, thermal.conductivity_maxwell):
        assert low - 1e-9 <= model(composition, temperature, ice) <= high + 1e-9


@pytest.mark.parametrize("part", ["water", "protein", "fat", "carbohydrate", "fibre", "ash", "alcohol"])
def test_a_mixture_of_one_component_is_that_component(part: str) -> None:
    pure = Composition(**{"water": 0.0, part: 1.0})
    for whole, single in (
        (thermal.density, components.density),
        (thermal.heat_capacity, components.heat_capacity),
        (thermal.conductivity, components.conductivity),
        (thermal.conductivity_series, components.conductivity),
    ):
        assert whole(pure, 280.0) == pytest.approx(single(part, 280.0), rel=1e-12)


def test_water_all_frozen_is_ice() -> None:
    water = Composition(water=1.0)
    assert thermal.density(water, 260.0, 1.0) == pytest.approx(components.density("ice", 260.0))
    assert thermal.conductivity(water, 260.0, 1.0) == pytest.approx(components.conductivity("ice", 260.0), rel=1e-6)


@given(st.floats(200.0, 450.0), st.floats(0.5, 8.0))
def test_more_water_lowers_the_glass_transition(dry: float, k: float) -> None:
    glass = np.asarray(gordon_taylor(np.linspace(0.0, 1.0, 50), dry, k))
    assert np.all(np.diff(glass) < 0.0)
    assert glass[0] == pytest.approx(dry)
    assert glass[-1] == pytest.approx(138.0)
