"""Float in, float out; array in, array out; clear errors; formulas that compile."""

import numba
import numpy as np
import pytest

from drystow.errors import InputError
from drystow.foods.model import Composition
from drystow.properties import components, glass, ice, sorption, thermal, water

MILK = Composition(water=0.881, protein=0.032, fat=0.033, carbohydrate=0.047, ash=0.007, sugars=0.047)

CALLS = {
    "ice_vapour_pressure": (lambda x: water.ice_vapour_pressure(temperature=x), 250.0),
    "sublimation_heat": (lambda x: water.sublimation_heat(temperature=x), 250.0),
    "ice_temperature": (lambda x: water.ice_temperature(pressure=x), 50.0),
    "liquid": (lambda x: water.water_vapour_pressure_liquid(temperature=x), 300.0),
    "choked": (lambda x: water.choked_mass_flux(pressure=x, temperature=290.0), 50.0),
    "density": (lambda x: components.density(component="fat", temperature=x), 280.0),
    "heat_capacity": (lambda x: components.heat_capacity(component="water", temperature=x), 265.0),
    "conductivity": (lambda x: components.conductivity(component="ice", temperature=x), 260.0),
    "enthalpy": (lambda x: components.enthalpy(component="water", temperature=x), 260.0),
    "tchigeov": (lambda x: ice.ice_fraction_tchigeov(water=0.58, freezing_point=271.45, temperature=x), 253.15),
    "chen": (lambda x: ice.ice_fraction_chen(0.58, 0.08, 271.45, x), 253.15),
    "enthalpy_chen": (
        lambda x: ice.enthalpy_chen(water=0.75, solids=0.25, bound_water=0.08, freezing_point=272.0, temperature=x),
        260.0,
    ),
    "enthalpy_schwartzberg": (
        lambda x: ice.enthalpy_schwartzberg(0.75, 0.08, 3600.0, freezing_point=272.0, temperature=x),
        260.0,
    ),
    "ice_fraction": (lambda x: ice.ice_fraction(MILK, 272.5, x), 260.0),
    "gab_moisture": (lambda x: sorption.gab_moisture(water_activity=x, monolayer=0.06, c=10.0, k=0.9), 0.3),
    "gab_water_activity": (lambda x: sorption.gab_water_activity(moisture=x, monolayer=0.06, c=10.0, k=0.9), 0.03),
    "gab_slope": (lambda x: sorption.gab_slope(water_activity=x, monolayer=0.06, c=10.0, k=0.9), 0.3),
    "gordon_taylor": (lambda x: glass.gordon_taylor(water=x, solid_glass_temperature=335.0, k=5.4), 0.03),
    "enthalpy_curve": (lambda x: thermal.enthalpy_curve(MILK, 272.5, x), 260.0),
    "thermal conductivity": (lambda x: thermal.conductivity(MILK, x, 0.5), 260.0),
}


@pytest.mark.parametrize("name", CALLS)
def test_a_float_gives_a_float_and_an_array_gives_an_array(name: str) -> None:
    function, value = CALLS[name]
    single = function(value)
    several = function(np.array([value, value]))
    assert isinstance(single, float)
    assert isinstance(several, np.ndarray)
    assert several.shape == (2,)
    assert several == pytest.approx(single, rel=1e-12)


@pytest.mark.parametrize(
    ("call", "field", "words"),
    [
        (lambda: water.ice_vapour_pressure(-20.0), "temperature", "is it in °C?"),
        (lambda: water.sublimation_heat(300.0), "temperature", "out of range; use 110 to 273.16 K"),
        (lambda: water.ice_vapour_pressure(np.array([250.0, np.nan])), "temperature", "out of range"),
        (lambda: water.ice_temperature(1000.0), "pressure", "mTorr"),
        (lambda: components.density("protien", 280.0), "component", "closest: 'protein'"),
        (lambda: components.density("ice", 280.0), "temperature", "out of range"),
        (lambda: ice.ice_fraction_tchigeov(0.8, -1.7, 253.15), "freezing_point", "given in K"),
        (lambda: ice.initial_freezing_point(Composition(0.02, 0.98), "meat"), "water", "too dry"),
        (lambda: sorption.gab_moisture(30.0, 0.06, 10.0, 0.9), "water_activity", "0.3 for 30%"),
        (lambda: sorption.gab_moisture(0.9, 0.046, 10.6, 1.2), "water_activity", "out of range; use 0 to 0.833"),
        (lambda: sorption.gab_moisture(0.3, 0.0, 10.0, 0.9), "monolayer", "more than 0 and at most 1"),
        (lambda: glass.gordon_taylor(0.03, 62.0, 5.4), "solid_glass_temperature", "is it in °C?"),
        (lambda: thermal.density(MILK, 260.0, 0.95), "ice", "more than the food's water"),
        (lambda: glass.collapse_limits(Composition(0.2, fat=0.8), "fat"), "composition", "no carbohydrate or protein"),
    ],
)
def test_bad_input_is_named(call: object, field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert caught.value.field == field
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("formula", "arguments"),
    [
        (water._ice_vapour_pressure, (250.0,)),
        (water._sublimation_heat, (250.0,)),
        (water._liquid_vapour_pressure, (290.0,)),
        (water._choked_mass_flux, (50.0, 290.0)),
        (sorption._gab_moisture, (0.3, 0.06, 10.0, 0.9)),
        (sorption._gab_water_activity, (0.03, 0.06, 10.0, 0.9)),
        (sorption._activity_at_reference, (0.3, 310.0, 8000.0)),
    ],
)
def test_the_bare_formulas_compile(formula: object, arguments: tuple[float, ...]) -> None:
    compiled = numba.njit(formula)
    assert compiled(*arguments) == pytest.approx(formula(*arguments), rel=1e-12)  # type: ignore[operator]
