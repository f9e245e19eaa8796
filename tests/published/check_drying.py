"""Drying against worked examples, gas physics and common practice; measured times are in check_drying_measured.py."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PropsSI

from drystow.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from drystow.drying.closed import (
    drying_time_heat_through_layer,
    front_temperature_dried_side,
)
from drystow.drying.layer import layer_conductivity, layer_of
from drystow.foods.kinds import class_rows
from drystow.machine.layout import Machine
from drystow.machine.loadfile import read_load
from drystow.machine.profile import DISCHARGE, dryer_profile, machine_array
from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from drystow.properties.water import ice_vapour_pressure
from tests.loads import held, machine, tray
from tests.published.check import Check

HOUR = 3600.0
MIXED = Path(__file__).parents[2] / "examples" / "mixed-load.toml"
COFFEE_LAYER = {"R0": "0 m/s", "A1": f"{1 / 2.625e-8} 1/s", "A2": "0 1/m", "conductivity": "0.035 W/m/K"}
COFFEE_PRESSURE = 97e-3 * 133.322  # 97 micrometres of mercury [Pa]


def compare_coffee_interface() -> Iterator[Check]:
    """Coffee slab heated from above, surface 30 °C, chamber at the pressure of ice at -40 °C."""
    closed = front_temperature_dried_side(303.15, COFFEE_PRESSURE, 0.035, 2.625e-8, 2.84e6)
    row = tray(
        dried_layer=COFFEE_LAYER, heat={"contact": "1 W/m^2/K", "above": "10000 W/m^2/K"}, areas={"contact": "0 m^2"}
    )
    front = simulate(held(row, shelf="30 degC", pressure=f"{COFFEE_PRESSURE} Pa")).trays[0].front_temperature_end
    for way, temperature in (("closed relation", closed), ("simulated slab", front)):
        yield Check(
            f"ice front of a coffee slab, {way}",
            temperature - ZERO_CELSIUS,
            -29.4,
            0.3,
            "abs",
            "°C",
            "fd-encyclopedia",
            "worked figure of the article on freeze drying",
            why="the book's figures imply 2.91 MJ/kg, the heat of sublimation is 2.84 MJ/kg: 0.1 K",
        )
        yield Check(
            f"pressure at the ice front of a coffee slab, {way}",
            float(ice_vapour_pressure(temperature)),
            301e-3 * 133.322,
            1.1,
            "abs",
            "Pa",
            "fd-encyclopedia",
            "the same figure, 301 micrometres of mercury",
            why="0.3 K at the front",
        )


def compare_coffee_slab() -> Iterator[Check]:
    """12.5 mm slabs dried from both faces by radiant plates.

    Assumed, since the article does not say: emissivity 0.9, density 1000 kg/m3, 12.9 Pa, plates at 60 and 80 °C until
    the ice is gone, then cut back so that the food stays at the stated surface limit of 40 °C; final moisture 3%.
    """

    def run(plate: float) -> LoadResult:
        warm, cold = plate + ZERO_CELSIUS, 290.0
        radiation = 0.9 * STEFAN_BOLTZMANN * (warm**2 + cold**2) * (warm + cold)
        row = tray(
            **{
                "composition": {"water": 0.74, "carbohydrate": 0.22, "protein": 0.03, "ash": 0.01, "sugars": 0.0},
                "class": "liquid",
            },
            mass="1.25 kg",
            size="12.5 mm",
            faces=2,
            final_moisture="3%",
            dried_layer=COFFEE_LAYER,
            heat={"contact": f"{radiation} W/m^2/K", "above": f"{radiation} W/m^2/K"},
        )
        return simulate(held(row, shelf=f"{plate} degC", pressure="12.9 Pa"), series=False)

    mild = run(40.0)
    desorbing = mild.total_time - _ice_gone(mild)
    for plate in (60.0, 80.0):
        subliming = _ice_gone(run(plate))
        yield Check(
            f"drying of a 12.5 mm coffee slab, plates at {plate:.0f} °C, then 40 °C",
            (subliming + desorbing) / HOUR,
            (12.0, 20.0),
            kind="band",
            unit="h",
            source="fd-encyclopedia",
            where="text: 14 to 18 h for foods of 75 to 85% water",
            why="band widened by 2 h on both sides, plate temperature and pressure are assumed",
        )
        yield Check(
            f"share of sublimation in that time, plates at {plate:.0f} °C",
            subliming / (subliming + desorbing),
            0.60,
            0.10,
            "abs",
            "-",
            "fd-encyclopedia",
            "text: coffee extract of 74% water, 60% sublimation and 40% desorption",
            why="one digit is printed",
        )


def compare_closed_time() -> Iterator[Check]:
    """The textbook's formula only: its front (78 Pa at -35 °C) does not lie on the ice curve (78 Pa is -22.9 °C)."""
    front = 328.15 - (78.0 - 40.0) * 2.4e-8 * 2.95e6 / 0.03  # relation of the slides
    for thickness, expected in ((0.005, 6242.0), (0.009, 20224.0)):
        yield Check(
            f"drying of a {thickness * 1e3:.0f} mm layer, closed formula",
            float(drying_time_heat_through_layer(470.0, 4.0, 0.08, 2.95e6, thickness, 0.03, 328.15, front)),
            expected,
            0.02,
            unit="s",
            source="fellows",
            where="sample problem on freeze drying",
            mark="memory",
            why="the book carries a slip of 1 K in its front temperature (-35.7 for -34.7 °C)",
        )


def compare_layer_conductivity() -> Iterator[Check]:
    """The transition law with each class's own numbers, but in air, against foods measured over four decades.

    Of a class only the rise is replaced: in plenty of gas a dried food gains the conductivity of the gas in its pores,
    0.0267 W/m/K in air at 35 °C (the library's value), 0.017 in vapour (checked below).
    """
    air = PropsSI("L", "T", 308.15, "P", 1e5, "Air")
    spread = "one vacuum value and one half pressure for a class of foods"
    for food, food_class, tolerance, why, rows in (
        ("apple", "fruit", 0.06, spread, ((2.66, 0.0156), (21.0, 0.0185), (187.0, 0.0282), (2880.0, 0.0405))),
        ("peach", "fruit", 0.06, spread, ((6.0, 0.0164), (21.3, 0.0185), (187.0, 0.0279), (2670.0, 0.0410))),
        ("pear", "fruit", 0.16, "varieties of fruit: pear starts a fifth higher than apple and peach",
         ((2.13, 0.0186), (19.5, 0.0207), (187.0, 0.0306), (2150.0, 0.0419))),
        ("beef", "meat", 0.06, spread, ((1.46, 0.0382), (22.7, 0.0412), (238.0, 0.0532), (2700.0, 0.0620))),
    ):  # fmt: skip
        layer = layer_of(food_class)
        for pressure, expected in rows:
            yield Check(
                f"conductivity of dried {food} at {pressure:g} Pa of air",
                float(layer_conductivity(pressure, layer.vacuum_conductivity, air, layer.half_pressure)),
                expected,
                tolerance,
                unit="W/m/K",
                source="harper1964",
                where="table of thermal conductivity of freeze-dried foods, 35 °C",
                mark="memory",
                why=why,
            )


def compare_gas_in_the_pores() -> Iterator[Check]:
    """The rise of every class in vapour is the conductivity of vapour itself, halfway between front and shelf."""
    vapour = PropsSI("L", "T", 280.0, "P", 100.0, "Water")
    for food_class in class_rows():
        yield Check(
            f"rise of the dried layer's conductivity in vapor, {food_class}",
            layer_of(food_class).gas_conductivity,
            vapour,
            0.05,
            unit="W/m/K",
            source="coolprop-library",
            where="conductivity of dilute water vapor at 7 °C",
            mark="library",
            why="the layer reaches from -30 to 40 °C, over which vapor's conductivity changes by a fifth either way",
        )


def in_step_machine() -> Iterator[Check]:
    """The machine's own arithmetic, worked by hand."""
    row = machine_array(dryer_profile("kitchen-5"))
    area = dryer_profile("kitchen-5").choked_area * 1e4
    yield Check(
        "choked flow into the trap per cm2 and 100 Pa",
        row[Machine.CHOKED_CONDUCTANCE] * 100.0 * HOUR / area / DISCHARGE,
        0.0675,
        0.02,
        unit="kg/h",
        source="choked-flow",
        where="isentropic flow of vapour at 280 K: 0.066 at 293 K x (293/280)^0.5",
        mark="definition",
        why="two digits",
    )
    dryer = machine(tray(), leak="0.02 mbar*L/s", pump_speed="5 m^3/h", ultimate_pressure="0 Pa").rig.dryer
    yield Check(
        "pressure rise of a leak of 0.02 mbar L/s in 30 L",
        dryer.leak / 0.030 * 60.0,
        4.0,
        1e-9,
        unit="Pa/min",
        source="definition",
        where="Q = V dp/dt",
        mark="definition",
    )
    yield Check(
        "pressure of that leak over a pump of 5 m3/h",
        float(machine_array(dryer)[Machine.AIR_PRESSURE]),
        2e-3 / (5.0 / 3600.0),
        1e-9,
        unit="Pa",
        source="definition",
        where="p = Q / S",
        mark="definition",
    )


def compare_demo_load() -> Iterator[Check]:
    """A mixed load of a household machine."""
    result = simulate(read_load(MIXED))
    yield Check(
        "mixed household load, from warm food to the last tray dry",
        result.total_time / HOUR,
        (18.0, 36.0),
        kind="band",
        unit="h",
        source="household-day",
        where="about a day, more for thick or sugary food",
        mark="common practice",
    )
    per_kg = result.machine.energy / 3.6e6 / result.machine.trap_ice
    yield Check(
        "electricity per kg of water, household load",
        per_kg,
        (4.0, 7.5),
        kind="band",
        unit="kWh/kg",
        source="household-day",
        where="small batches are often said to take 3 to 10 kWh per kg of water, laboratory flasks among them",
        mark="memory",
        why="a full load lies in the middle half of that range; no measurement of a household machine was found",
    )
    yield Check(
        "electricity of the shelf heaters per kg of water, household load",
        result.machine.heater_energy / 3.6e6 / result.machine.trap_ice,
        (0.79, 1.19),
        kind="band",
        unit="kWh/kg",
        source="iapws-library",
        where="heat of sublimation 2.84 MJ/kg, as in the checks of ice",
        mark="library",
        why="that heat comes from the shelves, and up to half as much again warms food, vapor, shelves and walls",
    )
    yield Check(
        "electricity per kg of water against industry's 1.31",
        per_kg,
        (1.31, np.inf),
        kind="band",
        unit="kWh/kg",
        source="liu2024",
        where="industrial batch of shiitake",
        why="a small machine is not better than a large one",
    )


def _ice_gone(result: LoadResult) -> float:
    end = result.trays[0].primary_end
    assert end is not None
    return end - result.drying_start
