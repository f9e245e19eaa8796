"""Ice, water and vapour against the international standards and independent libraries."""

from collections.abc import Iterator

from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95, IAPWS97
from iapws._iapws import _Ice, _Sublimation_Pressure

from drystow.constants import VAPOUR_HEAT_CAPACITY
from drystow.properties.water import (
    VAPOUR_HEAT_RATIO,
    choked_mass_flux,
    ice_temperature,
    ice_vapour_pressure,
    sublimation_heat,
    water_vapour_pressure_liquid,
)
from tests.published.check import Check

IDEAL_VAPOUR = IAPWS95(T=300.0, P=1e-3)._prop0
"""Vapour without any pressure, by the library."""

TWO_FITS = "two fits of the same measurements; they differ by up to 0.06% at 200 K"


def compare_ice_pressure_with_the_standard() -> Iterator[Check]:
    yield Check(
        "ice vapour pressure at 230 K, check value of the release",
        float(ice_vapour_pressure(230.0)),
        8.94735,
        3e-4,
        unit="Pa",
        source="iapws-r14",
        where="check value",
        mark="memory",
        why=TWO_FITS,
    )
    yield Check(
        "ice vapour pressure at the triple point",
        float(ice_vapour_pressure(273.16)),
        611.657,
        2e-6,
        unit="Pa",
        source="iapws-triple-point",
        where="273.16 K",
        mark="memory",
        why="six printed digits",
    )
    yield Check(
        "ice temperature at the triple point's pressure",
        float(ice_temperature(611.657)),
        273.16,
        1e-4,
        "abs",
        "K",
        source="iapws-triple-point",
        where="611.657 Pa",
        mark="memory",
        why="0.001 Pa over 50 Pa/K",
    )


def compare_ice_pressure_with_a_library() -> Iterator[Check]:
    for temperature in (200.0, 213.15, 223.15, 233.15, 243.15, 253.15, 263.15, 273.0):
        yield Check(
            f"ice vapour pressure at {temperature:g} K",
            float(ice_vapour_pressure(temperature)),
            float(_Sublimation_Pressure(temperature)) * 1e6,
            6e-4,
            unit="Pa",
            source="iapws-library",
            where="sublimation pressure of R14-08",
            mark="library",
            why=TWO_FITS,
        )


def compare_sublimation_heat_with_a_library() -> Iterator[Check]:
    for temperature in (203.15, 223.15, 238.15, 253.15, 263.15, 273.15):
        vapour = IDEAL_VAPOUR(1e-6, temperature).h
        ice = _Ice(temperature, _Sublimation_Pressure(temperature))["h"]
        yield Check(
            f"sublimation heat at {temperature:g} K",
            float(sublimation_heat(temperature)),
            float(vapour - ice) * 1e3,
            4e-4,
            unit="J/kg",
            source="iapws-library",
            where="ideal-gas part of IAPWS-95 minus Feistel-Wagner ice",
            mark="library",
            why="equation 5 was fitted to other heat capacities of vapour",
        )


def compare_liquid_pressure_with_a_library() -> Iterator[Check]:
    for temperature in (273.16, 283.15, 293.15, 313.15, 333.15, 373.15):
        yield Check(
            f"vapour pressure over water at {temperature:g} K",
            float(water_vapour_pressure_liquid(temperature)),
            IAPWS97(T=temperature, x=0).P * 1e6,
            3e-4,
            unit="Pa",
            source="iapws-library",
            where="saturation line of IAPWS-IF97",
            mark="library",
            why="the two standards agree to 0.02%",
        )


def compare_heat_ratio() -> Iterator[Check]:
    vapour = ("T", 293.15, "P", 100.0, "Water")
    yield Check(
        "ratio of heat capacities of water vapour at 20 °C and 100 Pa",
        VAPOUR_HEAT_RATIO,
        PropsSI("CPMASS", *vapour) / PropsSI("CVMASS", *vapour),
        0.005,
        source="coolprop-library",
        where="water, gas",
        mark="library",
        why="two printed digits",
    )
    yield Check(
        "heat capacity of water vapour at 20 °C and 100 Pa",
        VAPOUR_HEAT_CAPACITY,
        PropsSI("CPMASS", *vapour),
        0.01,
        unit="J/kg/K",
        source="coolprop-library",
        where="water, gas",
        mark="library",
        why="one value from -30 to 60 °C",
    )


def in_step_choked_flow() -> Iterator[Check]:
    yield Check(
        "choked flow through 1 cm2 at 100 Pa and 293 K",
        float(choked_mass_flux(100.0, 293.0)) * 1e-4 * 3600,
        0.066,
        0.01,
        unit="kg/h",
        source="choked-flow",
        where="formula worked by hand for the science notes",
        mark="calc",
        why="two printed digits; arithmetic, not a measurement",
    )
