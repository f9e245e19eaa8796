"""Moisture that dried food holds, against measured points that no constant was taken from unless its row says so."""

from collections.abc import Iterator

import numpy as np

from drystow.foods.model import Composition, Food
from drystow.properties.sorption import Isotherm, gab_moisture, isotherm_for, moisture_at, water_activity_at
from tests.published.check import Check
from tests.published.compositions import SAMPLES

MEASURED_AT = 303.15
CRISPBREAD = Composition(water=0.06, protein=0.10, fat=0.02, carbohydrate=0.66, fibre=0.14, ash=0.02, sugars=0.01)
DRY_MILK = Composition(water=0.0396, protein=0.35, fat=0.0077, carbohydrate=0.5214, ash=0.0813, sugars=0.5214)
ALMOND = Composition(water=0.044, protein=0.21, fat=0.50, carbohydrate=0.09, fibre=0.125, ash=0.031, sugars=0.045)


def of_class(food_class: str, composition: Composition, *like: str) -> Isotherm:
    return isotherm_for(Food("own", "thing", food_class, composition, like=like))


def bet_monolayer(isotherm: Isotherm) -> float:
    """Return what a BET plot from water activity 0.11 to 0.45 reads off this isotherm, as papers report it."""
    activity = np.linspace(0.11, 0.45, 8)
    moisture = gab_moisture(activity, isotherm.monolayer, isotherm.c, isotherm.k)
    slope, start = np.polyfit(activity, activity / (moisture * (1.0 - activity)), 1)
    return 1.0 / float(slope + start)


def compare_freeze_dried_fruit() -> Iterator[Check]:
    kiwi = of_class("fruit", SAMPLES["kiwi"].composition, "kiwi")
    lean = 1.0 - SAMPLES["kiwi"].composition.fat / SAMPLES["kiwi"].composition.solids
    for activity in (0.10, 0.20, 0.30, 0.40):
        yield Check(
            f"moisture of freeze-dried kiwifruit at 30 °C and water activity {activity:g}, from the food",
            float(moisture_at(kiwi, activity, MEASURED_AT)) / lean,
            0.057 * 7.9 * activity / ((1 - activity) * (1 - activity + 7.9 * activity)),
            0.06,
            source="moraga2006",
            where="abstract: BET fit of the same data, measured at 30 °C",
            why="the food has the GAB fit; two equations through one set of measurements",
        )
    yield Check(
        "BET monolayer of fruit of no known kind against freeze-dried raspberry",
        100 * bet_monolayer(of_class("fruit", SAMPLES["apple"].composition)),
        5.9,
        0.15,
        unit="g/100 g",
        source="syamaladevi2009",
        where="BET monolayer",
        mark="memory",
        why="the class has kiwifruit's constants; fruits differ",
    )
    yield Check(
        "net heat of sorption of fruit",
        of_class("fruit", SAMPLES["apple"].composition).desorption_heat / 1e3,
        (5.5, 9.05),
        kind="band",
        unit="kJ/mol",
        source="sormoli2014",
        where="orange juice powder 9.05 at 5% moisture; freeze-dried blueberry 5.5 at 8% (lim1995)",
        why="it falls with moisture; the class has one value",
    )


def compare_dried_milk() -> Iterator[Check]:
    yield Check(
        "moisture of skim milk's solids at water activity 0.37",
        100 * float(moisture_at(of_class("dairy", DRY_MILK), 0.37)),
        6.8,
        0.10,
        unit="g/100 g",
        source="roos2002",
        where="abstract: amorphous lactose",
        why="lactose is half of the solids; protein holds about as much (foster2005)",
    )
    yield Check(
        "water activity of non-fat dry milk of 3.96% water",
        float(water_activity_at(of_class("dairy", DRY_MILK), 0.0396 / 0.9604)),
        (0.13, 0.25),
        kind="band",
        source="byu-milk",
        where="milk in cans; its water from the nutrient table",
        why="range of the samples",
    )


def compare_fat_holds_no_water() -> Iterator[Check]:
    yield Check(
        "monolayer of almonds, half of them fat",
        of_class("fat", ALMOND).monolayer,
        (0.020, 0.035),
        kind="band",
        unit="kg/kg",
        source="taitano2012",
        where="abstract; five lots, 7 to 50 °C",
        why="range of the lots and temperatures",
    )


def compare_starch() -> Iterator[Check]:
    for grain, held, activity in (("wheat", 5.13, 0.110), ("rye", 4.68, 0.109)):
        yield Check(
            f"moisture of {grain} crispbread at water activity {activity:g}",
            100 * float(moisture_at(of_class("starchy", CRISPBREAD), activity)),
            held,
            0.20,
            unit="g/100 g",
            source="marzec2004",
            where="abstract: GAB monolayer and the water activity at which it is full",
            why="the class has rice and cooked starch; near 0.1 foods differ most",
        )
