"""Constants of nature, plain substances and solutions against independent libraries and handbooks."""

from collections.abc import Iterator

from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws._iapws import _Ice
from scipy import constants as codata

from drystow import constants
from drystow.evidence.outage import thawing
from drystow.foods.derive import SALT_PER_SODIUM
from drystow.foods.model import Composition
from drystow.machine import profile, stepper
from drystow.packing import moisture
from drystow.properties import components, ice
from drystow.serving.rehydration import WATER_DENSITY
from tests.published.check import Check


def compare_constants_of_nature() -> Iterator[Check]:
    for name, got, expected, unit in (
        ("gas constant", constants.GAS_CONSTANT, codata.R, "J/(mol K)"),
        ("Stefan-Boltzmann constant", constants.STEFAN_BOLTZMANN, codata.Stefan_Boltzmann, "W/(m2 K4)"),
        ("standard atmosphere", constants.ATMOSPHERE, codata.atm, "Pa"),
    ):
        yield Check(
            name,
            got,
            expected,
            1e-8,
            unit=unit,
            source="codata2018",
            where="scipy.constants",
            mark="library",
            why="exact or ten digits",
        )
    yield Check(
        "molar mass of water",
        constants.WATER_MOLAR_MASS,
        PropsSI("M", "Water"),
        1e-5,
        unit="kg/mol",
        source="coolprop-library",
        where="water",
        mark="library",
        why="six digits",
    )
    yield Check(
        "oxygen in dry air",
        constants.OXYGEN_IN_AIR,
        0.20946,
        5e-4,
        source="us-standard-atmosphere",
        where="table of composition, 20.9476% by volume",
        mark="memory",
        why="four digits",
    )


def compare_water_and_ice() -> Iterator[Check]:
    water, frozen = IAPWS95(T=273.16, x=0), _Ice(273.15, 0.101325)
    vapour = IAPWS95(T=273.16, x=1)
    rows = (
        ("density of ice", constants.ICE_DENSITY, frozen["rho"], 2e-3, "kg/m3"),
        ("heat capacity of ice that thaws", thawing.ICE_HEAT_CAPACITY, _Ice(263.15, 0.1)["cp"] * 1e3, 0.02, "J/kg/K"),
        ("heat capacity of water from it", thawing.WATER_HEAT_CAPACITY, water.cp * 1e3, 0.02, "J/kg/K"),
        ("heat of vaporization at 0 °C", thawing.VAPORISATION_HEAT, (vapour.h - water.h) * 1e3, 5e-3, "J/kg"),
        ("heat of sublimation at 0 °C", thawing.SUBLIMATION_HEAT, (vapour.h - frozen["h"]) * 1e3, 5e-3, "J/kg"),
        ("heat capacity of water left in food", stepper.LIQUID_HEAT_CAPACITY, IAPWS95(T=300, P=0.1).cp * 1e3, 0.01,
         "J/kg/K"),
    )  # fmt: skip
    for name, got, expected, tolerance, unit in rows:
        yield Check(
            name,
            got,
            float(expected),
            tolerance,
            unit=unit,
            source="iapws-library",
            where="IAPWS-95 and Feistel-Wagner ice",
            mark="library",
            why="one value for a range of temperatures",
        )
    for name, got in (
        ("conductivity of clear ice at 0 °C", constants.ICE_CONDUCTIVITY),
        ("conductivity of ice in food at 0 °C", float(components.conductivity("ice", 273.15))),
    ):
        yield Check(
            name,
            got,
            2.22,
            0.03,
            unit="W/m/K",
            source="handbook-substances",
            where="ice at 0 °C",
            mark="memory",
            why="handbooks differ by 0.05",
        )
    yield Check(
        "heat by which bound water leaves, over that of water at 30 °C",
        stepper.DESORPTION_HEAT / (IAPWS95(T=303.15, x=1).h - IAPWS95(T=303.15, x=0).h) / 1e3,
        (1.0, 1.3),
        kind="band",
        source="handbook-substances",
        where="net heat of sorption near the monolayer of dry foods, 0 to 30% of the heat of vaporization",
        mark="memory",
    )


def compare_air() -> Iterator[Check]:
    air = ("T", 294.15, "P", 101325.0, "Air")
    yield Check(
        "heat capacity of room air by volume",
        moisture.AIR_HEAT_CAPACITY,
        PropsSI("D", *air) * PropsSI("CPMASS", *air),
        0.01,
        unit="J/m3/K",
        source="coolprop-library",
        where="air at 21 °C",
        mark="library",
        why="1.2 kg/m3 has two digits",
    )


# Plain substances that stand for a part of food, handbook values from memory.
SUBSTANCES = (
    ("density", "fat", "vegetable oil", 293.15, 920.0, 0.01, "kg/m3"),
    ("heat_capacity", "fat", "olive oil", 293.15, 1970.0, 0.05, "J/kg/K"),
    ("conductivity", "fat", "olive oil", 293.15, 0.168, 0.06, "W/m/K"),
    ("density", "carbohydrate", "sucrose", 293.15, 1588.0, 0.01, "kg/m3"),
    ("density", "protein", "dry globular protein", 293.15, 1350.0, 0.04, "kg/m3"),
    ("density", "ash", "table salt, 2165, and potassium carbonate, 2430, half and half", 293.15, 2300.0, 0.08, "kg/m3"),
    ("density", "alcohol", "ethanol", 293.15, 789.0, 0.01, "kg/m3"),
    ("heat_capacity", "alcohol", "ethanol", 293.15, 2430.0, 0.03, "J/kg/K"),
    ("conductivity", "alcohol", "ethanol", 293.15, 0.169, 0.05, "W/m/K"),
)


def compare_parts_with_substances() -> Iterator[Check]:
    for quantity, part, substance, temperature, expected, tolerance, unit in SUBSTANCES:
        yield Check(
            f"{quantity.replace('_', ' ')} of {part}: {substance}",
            float(getattr(components, quantity)(part, temperature)),
            expected,
            tolerance,
            unit=unit,
            source="handbook-substances",
            where="20 °C",
            mark="memory",
            why="a substance that stands for a group of them",
        )


def _solution(share: float, **parts: float) -> Composition:
    return Composition(**{"water": 1.0 - share, **parts})


def compare_freezing_points_of_solutions() -> Iterator[Check]:
    """Solutions of 10% by mass, but 3% for salt, as tabled for a century."""
    for name, composition, food_class, expected, tolerance in (
        ("milk sugar", _solution(0.10, carbohydrate=0.10, sugars=0.10), "dairy", -0.63, 0.06),
        ("grape sugar", _solution(0.10, carbohydrate=0.10, sugars=0.10), "egg", -1.16, 0.06),
        ("cane sugar", _solution(0.10, carbohydrate=0.10, sugars=0.10), "fat", -0.63, 0.06),
        ("table salt, 3%", _solution(0.03, ash=0.03, salt=0.03), "liquid", -1.79, 0.2),
        ("alcohol", _solution(0.10, alcohol=0.10), "liquid", -4.47, 0.25),
    ):
        yield Check(
            f"freezing point of a solution of {name}",
            ice.initial_freezing_point(composition, food_class) - 273.15,
            expected,
            tolerance,
            "abs",
            "°C",
            source="handbook-substances",
            where="table of aqueous solutions",
            mark="memory",
            why="an ideal solution is assumed",
        )


CARBON, HYDROGEN, OXYGEN, SODIUM, CHLORINE = 12.011, 1.008, 15.999, 22.990, 35.45
"""Atomic weights [g/mol]."""


def compare_molar_masses() -> Iterator[Check]:
    one = 6 * CARBON + 12 * HYDROGEN + 6 * OXYGEN
    for sugar, mass in ice.SUGAR_MOLAR_MASS.items():
        single = sugar in ("fructose", "glucose", "galactose")
        yield Check(
            f"molar mass of {sugar}",
            1e3 * mass,
            one if single else 2 * one - 2 * HYDROGEN - OXYGEN,
            1e-3,
            unit="g/mol",
            source="iupac",
            where="C6H12O6; C12H22O11",
            mark="memory",
            why="four digits",
        )
    yield Check(
        "salt per sodium",
        SALT_PER_SODIUM,
        (SODIUM + CHLORINE) / SODIUM,
        2e-3,
        source="iupac",
        where="NaCl",
        mark="memory",
        why="three digits",
    )
    yield Check(
        "density of cool water",
        WATER_DENSITY,
        IAPWS95(T=283.15, P=0.101325).rho,
        2e-3,
        unit="kg/m3",
        source="iapws-library",
        where="10 °C",
        mark="library",
        why="rounded so that a milliliter weighs a gram",
    )
    yield Check(
        "initial freezing point of lamb by the short formula",
        float(ice.freezing_point_pham(0.7342, 0.0106, 0.2029)) - 273.15,
        -1.9,
        0.2,
        "abs",
        "°C",
        source="ashrae-ch19-table3",
        where="lamb, composite lean",
        mark="memory",
        why="one printed digit",
    )


def compare_port() -> Iterator[Check]:
    yield Check(
        "discharge of a port against the ideal one",
        profile.DISCHARGE,
        (0.6, 0.9),
        kind="band",
        source="handbook-substances",
        where="sharp to rounded orifices",
        mark="memory",
    )
