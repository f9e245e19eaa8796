"""Water and ash of a food from the columns that nutrient tables do print."""

from drystow.foods.kinds import class_row
from drystow.foods.model import Composition

ASH_FROM_MINERALS = {"potassium": 2.0, "sodium": 2.54, "calcium": 2.4, "magnesium": 2.4, "phosphorus": 1.0}
"""Ash per mass of mineral [-]. Source: ash-minerals-fit; sodium is salt's 58.44/22.99."""

SALT_PER_SODIUM = 2.54
"""Sodium chloride per sodium, 58.44/22.99 [-]. Source: iupac."""


def ash_from_minerals(potassium: float, sodium: float, calcium: float, magnesium: float, phosphorus: float) -> float:
    """Ash of a food from five minerals, mass fraction of the food [-].

    potassium: mass fraction of the food [-]
    sodium: mass fraction of the food [-]
    calcium: mass fraction of the food [-]
    magnesium: mass fraction of the food [-]
    phosphorus: mass fraction of the food [-]
    Valid: foods; leavened bakery, bouillon and dried spices can be out by several g per 100 g.
    Source: ash-minerals-fit, fitted to measured ash.
    Known error: root mean square 0.5 g per 100 g over all foods, 0.3 g above 30% water.

    >>> print(f"{ash_from_minerals(0.00077, 0.00001, 0.00006, 0.00006, 0.00012):.4f}")
    0.0020
    """
    factor = ASH_FROM_MINERALS
    return (
        factor["potassium"] * potassium
        + factor["sodium"] * sodium
        + factor["calcium"] * calcium
        + factor["magnesium"] * magnesium
        + factor["phosphorus"] * phosphorus
    )


def water_by_difference(protein: float, fat: float, carbohydrate: float, ash: float, alcohol: float = 0.0) -> float:
    """Water of a food whose carbohydrate was itself found by difference, mass fraction [-].

    protein: mass fraction of the food [-]
    fat: mass fraction of the food [-]
    carbohydrate: total, with fibre [-]
    ash: mass fraction of the food [-]
    alcohol: mass fraction of the food [-]
    Valid: tables with carbohydrate by difference; the result can be slightly negative for dry foods.
    Source: definition.
    Known error: that of the ash, plus rows whose parts do not add up (some meat and fish, up to 2 g per 100 g).

    >>> print(f"{water_by_difference(0.0074, 0.0033, 0.1449, 0.0020):.4f}")
    0.8424
    """
    return 1.0 - protein - fat - carbohydrate - ash - alcohol


def derived_water_sd(food_class: str, water: float, minerals_known: bool) -> float:
    """Standard deviation of a water content found from the other columns [-].

    food_class: one of ``FOOD_CLASSES``
    water: mass fraction of the food [-]
    minerals_known: all five minerals were in the table
    Valid: the error of the derivation only; lots and varieties of a food differ by more.
    Source: ash-minerals-fit, error of the derived water by kind of food.

    >>> derived_water_sd("fruit", 0.85, True), derived_water_sd("meat", 0.7, True)
    (0.003, 0.01)
    """
    spread = 0.015 if water < 0.30 else float(class_row(food_class)["water_sd"])
    return spread if minerals_known else max(spread, 0.010)


def close(
    water: float,
    protein: float,
    fat: float,
    carbohydrate: float,
    fibre: float,
    ash: float,
    sugars: float = 0.0,
    sodium: float = 0.0,
    water_sd: float = 0.01,
) -> Composition:
    """Return the composition with its parts scaled to add up to one and none below zero.

    water: mass fraction, clamped at zero [-]
    protein: mass fraction [-]
    fat: mass fraction [-]
    carbohydrate: total, with fibre [-]
    fibre: at most the carbohydrate [-]
    ash: mass fraction [-]
    sugars: at most the carbohydrate without fibre [-]
    sodium: mass fraction [-]
    water_sd: standard deviation of the water [-]
    """
    fibre = min(max(fibre, 0.0), max(carbohydrate, 0.0))
    raw = {
        "water": max(water, 0.0),
        "protein": max(protein, 0.0),
        "fat": max(fat, 0.0),
        "carbohydrate": max(carbohydrate - fibre, 0.0),
        "fibre": fibre,
        "ash": max(ash, 0.0),
    }
    total = sum(raw.values())
    parts = {name: value / total for name, value in raw.items()}
    return Composition(
        **parts,
        sugars=min(max(sugars, 0.0) / total, parts["carbohydrate"]),
        salt=min(SALT_PER_SODIUM * max(sodium, 0.0) / total, parts["ash"]),
        water_sd=water_sd,
    )
