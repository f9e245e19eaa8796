"""Components, mixtures, ice and freezing points against handbook values and independent libraries."""

from collections.abc import Iterator

from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws._iapws import _Ice

from drystow.constants import FUSION_HEAT
from drystow.foods.model import Composition
from drystow.foods.table import get
from drystow.properties import components, thermal
from drystow.properties.ice import (
    bound_water,
    enthalpy_chen,
    enthalpy_schwartzberg,
    ice_fraction_tchigeov,
    initial_freezing_point,
)
from tests.published.check import Check
from tests.published.compositions import SAMPLES, sample

COOLPROP_FOODS = {
    "protein": "FoodProtein",
    "fat": "FoodFat",
    "carbohydrate": "FoodCarbohydrate",
    "fibre": "FoodFiber",
    "ash": "FoodAsh",
    "ice": "FoodIce",
}
LAMB = Composition(water=0.7342, protein=0.2029, fat=0.0525, ash=0.0106)
PORK = Composition(water=0.7263, protein=0.1955, fat=0.0714, ash=0.0102)


def in_step_components() -> Iterator[Check]:
    quantities = (("D", components.density), ("C", components.heat_capacity), ("L", components.conductivity))
    for part, fluid in COOLPROP_FOODS.items():
        for temperature in (243.15, 268.15) if part == "ice" else (243.15, 278.15, 333.15):
            for letter, function in quantities:
                yield Check(
                    f"{function.__name__} of {part} at {temperature:g} K",
                    float(function(part, temperature)),
                    PropsSI(letter, "T", temperature, "P", 1e6, f"INCOMP::{fluid}"),
                    2e-3,
                    source="coolprop-library",
                    where=f"incompressible {fluid}",
                    mark="library",
                    why="the same published equations, coded by others",
                )


def compare_components_with_real_water_and_ice() -> Iterator[Check]:
    for temperature in (278.15, 293.15, 313.15, 333.15):
        real = IAPWS95(T=temperature, P=0.101325)
        for function, expected, tolerance in (
            (components.density, real.rho, 0.006),
            (components.heat_capacity, real.cp * 1e3, 0.007),
            (components.conductivity, real.k, 0.025),
        ):
            yield Check(
                f"{function.__name__} of water at {temperature:g} K, real water",
                float(function("water", temperature)),
                float(expected),
                tolerance,
                source="iapws-library",
                where="IAPWS-95 and its conductivity release",
                mark="library",
                why="quadratic food equations against the real substance",
            )
    for temperature in (235.15, 253.15, 270.15):
        real_ice = _Ice(temperature, 0.101325)
        for function, expected, tolerance in (
            (components.density, real_ice["rho"], 0.002),
            (components.heat_capacity, real_ice["cp"] * 1e3, 0.025),
        ):
            yield Check(
                f"{function.__name__} of ice at {temperature:g} K, real ice",
                float(function("ice", temperature)),
                float(expected),
                tolerance,
                source="iapws-library",
                where="Feistel-Wagner ice",
                mark="library",
                why="straight-line food equations against the real substance",
            )


def compare_handbook_examples() -> Iterator[Check]:
    ice = float(ice_fraction_tchigeov(0.58, 271.45, 253.15))
    heat = 150 * float(thermal.enthalpy_curve(LAMB, 271.25, 283.15) - thermal.enthalpy_curve(LAMB, 271.25, 273.15))
    rows = (
        ("ice in a beef side at -20 °C", ice, 0.52, 0.005, "", "example 1", "two printed digits"),
        ("unfrozen water in a beef side at -20 °C", 0.58 - ice, 0.06, 0.005, "", "example 1", "two printed digits"),
        ("ice in 150 kg of beef", 150 * ice, 78.0, 0.6, "kg", "example 1", "it multiplies the rounded 0.52"),
        ("heat capacity of lamb at 5 °C", float(thermal.heat_capacity(LAMB, 278.15)), 3590.0, 5.0, "J/kg/K",
         "example 2", "three printed digits"),
        ("heat from 150 kg lamb, 10 to 0 °C", heat / 1e3, 5390.0, 10.0, "kJ", "example 2", "three printed digits"),
    )  # fmt: skip
    for name, got, expected, tolerance, unit, where, why in rows:
        yield Check(
            name, got, expected, tolerance, "abs", unit, source="ashrae-ch19", where=where, mark="memory", why=why
        )


def in_step_pork() -> Iterator[Check]:
    hand = (
        ("conductivity of frozen pork, parallel", thermal.conductivity_parallel, 1.96),
        ("conductivity of frozen pork, series", thermal.conductivity_series, 0.52),
    )
    for name, function, expected in hand:
        yield Check(
            name,
            float(function(PORK, 233.15, 0.6715)),
            expected,
            0.01,
            "abs",
            "W/m/K",
            source="ashrae-ch19",
            where="example 4's inputs, worked by hand",
            mark="calc",
            why="three digits; arithmetic, not a printed result",
        )


def compare_handbook_table() -> Iterator[Check]:
    capacities = {"carrot": 3920.0, "corn": 3620.0, "garlic": 3170.0, "broccoli": 4010.0}
    for name, expected in capacities.items():
        yield Check(
            f"heat capacity of {name} above freezing",
            float(thermal.heat_capacity(sample(name), 277.15)),
            expected,
            0.025,
            unit="J/kg/K",
            source="ashrae-ch19-table3",
            where="column above freezing",
            why="composition of another table edition",
        )


def compare_heat_of_fusion() -> Iterator[Check]:
    melted = IAPWS95(T=273.16, x=0).h - _Ice(273.16, 611.657e-6)["h"]
    yield Check(
        "heat of fusion of water",
        FUSION_HEAT,
        melted * 1e3,
        0.002,
        unit="J/kg",
        source="iapws-library",
        where="IAPWS-95 water minus Feistel-Wagner ice at the triple point",
        mark="library",
        why="the handbook prints four digits; 333.4 is today's value",
    )


def in_step_latent_heat() -> Iterator[Check]:
    latent = {"strawberry": (307e3, 0.9157), "apple": (279e3, 0.8393), "peach": (293e3, 0.8766), "cod": (272e3, 0.8122),
              "beef": (240e3, 0.717), "blueberry": (284e3, 0.8461)}  # fmt: skip
    for name, (expected, water) in latent.items():
        yield Check(
            f"latent heat of {name}, heat of fusion times water",
            FUSION_HEAT * water,
            expected,
            0.007,
            unit="J/kg",
            source="ashrae-ch19-table3",
            where="latent heat column",
            why="printed whole numbers; two of the columns use slightly different water",
        )


# Freezing points of the handbook's table 3; tolerance 0.5 K. Known mismatches, with the reason:
KNOWN = {
    "banana": (1.5, "the handbook's -0.8 °C fits unripe fruit; ripe fruit has twice the sugar"),
    "cod": (0.6, "Pham's equation is for meat; sea fish hold extra dissolved nitrogen compounds"),
}


def compare_freezing_points() -> Iterator[Check]:
    for name, row in SAMPLES.items():
        if row.freezing_point is None:
            continue
        tolerance, why = KNOWN.get(name, (0.5, "spread between varieties, ripeness and editions of the table"))
        yield Check(
            f"initial freezing point of {name}",
            initial_freezing_point(row.composition, row.food_class) - 273.15,
            row.freezing_point,
            tolerance,
            "abs",
            "°C",
            source="ashrae-ch19-table3",
            where="initial freezing point",
            mark=row.mark,
            why=why,
        )


def compare_sea_animals() -> Iterator[Check]:
    """Rows of the food table, with what they are like; without their dissolved matter oysters come out at -0.9 °C."""
    rows = (
        ("Fish, cod, Atlantic, raw", -2.2, 0.4, "ashrae-ch19-table3", "cod, 28.0 °F in a copy", "read"),
        ("Fish, haddock, raw", -2.2, 0.4, "ashrae-ch19-table3", "haddock, 28.0 °F in a copy", "read"),
        ("Fish, halibut, Atlantic and Pacific, raw", -2.2, 0.4, "ashrae-ch19-table3", "halibut, 28.0 °F", "read"),
        ("Fish, pollock, Atlantic, raw", -2.2, 0.4, "ashrae-ch19-table3", "pollock, 28.0 °F in a copy", "read"),
        ("Oysters, raw", -2.2, 0.4, "ashrae-ch19-table3", "oysters", "memory"),
        ("Mollusks, scallop, mixed species, raw", -2.2, 0.4, "ashrae-ch19-table3", "scallops", "memory"),
        ("Crustaceans, lobster, northern, raw", -2.2, 0.4, "ashrae-ch19-table3", "American lobster", "memory"),
        ("Fish, lingcod, raw", -1.5, 0.6, "mahadevan1948", "abstract: lingcod", "read"),
        ("Fish, trout, rainbow, farmed, raw", -1.5, 0.7, "mahadevan1948", "abstract: rainbow trout", "read"),
    )
    for name, printed, tolerance, source, where, mark in rows:
        food = get(name)
        yield Check(
            f"initial freezing point of {name}, with what it is like",
            initial_freezing_point(food.composition, food.food_class, food.like) - 273.15,
            printed,
            tolerance,
            "abs",
            "°C",
            source=source,
            where=where,
            mark=mark,
            why="the handbook prints one number for all fish; known mismatch: single measurements are 0.5 K warmer",
        )


BEEF = Composition(water=0.745, protein=0.215, fat=0.03, ash=0.01)
SAUCE = Composition(water=0.828, protein=0.003, fat=0.001, carbohydrate=0.153, fibre=0.013, ash=0.002, sugars=0.14)
BERRIES = Composition(water=0.893, protein=0.007, fat=0.003, carbohydrate=0.072, fibre=0.02, ash=0.005, sugars=0.06)


def compare_calorimetry_of_frozen_food() -> Iterator[Check]:
    """Enthalpy above -40 °C as tabled [kJ/kg], the curve that freezing uses, and the two closed forms beside it."""
    late = "known mismatch: its last ice forms below -20 °C, here the sugars' unfreezable water stops it before"
    mixed = "whole printed numbers; composition, freezing point and mixing rules"
    for name, food, start, measured, why in (
        ("lean beef", BEEF, -1.0, {-30.0: 19.0, -20.0: 42.0, -10.0: 72.0, 0.0: 304.0}, mixed),
        ("strawberries", BERRIES, -0.94, {-30.0: 20.0, -20.0: 44.0, -10.0: 76.0, 0.0: 367.0}, mixed),
        ("apple sauce", SAUCE, -1.82, {-30.0: 23.0, -20.0: 51.0, -10.0: 95.0, 0.0: 343.0}, late),
    ):
        point, bound = 273.15 + start, bound_water(food)
        unfrozen = float(thermal.heat_capacity(food, 274.15))
        for t, expected in measured.items():
            at = 273.15 + t
            cold, rival = 0.20 if food is SAUCE else 0.12, 0.28 if food is BEEF else 0.14
            for form, value, tolerance in (
                ("", thermal.enthalpy_curve(food, point, at), 0.04 if t == 0.0 else cold),
                (" by Chen", enthalpy_chen(food.water, food.solids, bound, point, at), 0.10),
                (" by Schwartzberg", enthalpy_schwartzberg(food.water, bound, unfrozen, point, at), rival),
            ):
                yield Check(
                    f"enthalpy of {name} at {t:g} °C above -40 °C{form}",
                    float(value) / 1e3,
                    expected,
                    tolerance,
                    unit="kJ/kg",
                    source="riedel1957",
                    where=name,
                    mark="memory",
                    why=why
                    if not form
                    else "a closed form: Chen's is meant for enthalpies, Schwartzberg's for heat capacities",
                )


def compare_beef_enthalpy_by_the_short_formula() -> Iterator[Check]:
    for t, expected in ((-10.0, 74.0), (0.0, 304.0), (20.0, 374.0)):
        yield Check(
            f"enthalpy of lean beef at {t:g} °C above -40 °C by the short formula",
            float(enthalpy_chen(0.745, 0.255, 0.4 * 0.215, 272.15, 273.15 + t)) / 1e3,
            expected,
            0.06,
            unit="kJ/kg",
            source="riedel1957",
            where="lean beef, 74.5% water; above 0 °C with 3.5 kJ/kg/K",
            mark="memory",
            why="a formula of one line for all food",
        )
