"""Components, mixtures, ice and freezing points against handbook values and independent libraries."""

from collections.abc import Iterator

from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws._iapws import _Ice

from drystow.constants import FUSION_HEAT
from drystow.foods.model import Composition
from drystow.properties import components, thermal
from drystow.properties.ice import ice_fraction_tchigeov, initial_freezing_point
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


def compare_beef_enthalpy() -> Iterator[Check]:
    beef = Composition(water=0.745, protein=0.215, fat=0.03, ash=0.01)
    for t, expected, tolerance, why in (
        (0.0, 304.0, 0.02, "calorimetry of lean beef, 74.5% water"),
        (-20.0, 42.0, 0.20, "known mismatch: mixing rules give 18% more between -40 and -20 °C, 7 kJ/kg"),
    ):
        yield Check(
            f"enthalpy of lean beef at {t:g} °C above -40 °C",
            float(thermal.enthalpy_curve(beef, 272.15, 273.15 + t)) / 1e3,
            expected,
            tolerance,
            unit="kJ/kg",
            source="riedel1957",
            where="lean beef",
            mark="memory",
            why=why,
        )
