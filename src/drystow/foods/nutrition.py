"""Nutrition of a serving, fresh or dried, and how US and EU labels round it."""

import math
from dataclasses import dataclass

from drystow.errors import InputError, check_range
from drystow.messages import msg

DAILY_VALUES = {
    "fat_g": 78.0,
    "saturated_g": 20.0,
    "cholesterol_mg": 300.0,
    "sodium_mg": 2300.0,
    "carbohydrate_g": 275.0,
    "fibre_g": 28.0,
    "added_sugars_g": 50.0,
    "protein_g": 50.0,
    "vitamin_a_ug": 900.0,
    "vitamin_c_mg": 90.0,
    "calcium_mg": 1300.0,
    "iron_mg": 18.0,
    "vitamin_d_ug": 20.0,
    "vitamin_e_mg": 15.0,
    "vitamin_k_ug": 120.0,
    "thiamin_mg": 1.2,
    "riboflavin_mg": 1.3,
    "niacin_mg": 16.0,
    "vitamin_b6_mg": 1.7,
    "folate_ug": 400.0,
    "vitamin_b12_ug": 2.4,
    "phosphorus_mg": 1250.0,
    "magnesium_mg": 420.0,
    "zinc_mg": 11.0,
    "selenium_ug": 55.0,
    "copper_mg": 0.9,
    "potassium_mg": 4700.0,
    "choline_mg": 550.0,
}
"""US daily values for adults since 2016, in the unit of the key. Source: fda-daily-values."""

WHOLE_PERCENT = frozenset(
    ("fat_g", "saturated_g", "cholesterol_mg", "sodium_mg", "carbohydrate_g", "fibre_g", "added_sugars_g", "protein_g")
)
"""Nutrients whose daily value is printed to the nearest percent; vitamins and minerals go in steps of 2, 5 and 10."""

NAMES = {
    "energy_kcal": msg("Calories"),
    "fat_g": msg("Total fat"),
    "saturated_g": msg("Saturated fat"),
    "cholesterol_mg": msg("Cholesterol"),
    "sodium_mg": msg("Sodium"),
    "carbohydrate_g": msg("Total carbohydrate"),
    "fibre_g": msg("Dietary fiber"),
    "sugars_g": msg("Total sugars"),
    "protein_g": msg("Protein"),
    "vitamin_d_ug": msg("Vitamin D"),
    "calcium_mg": msg("Calcium"),
    "iron_mg": msg("Iron"),
    "potassium_mg": msg("Potassium"),
}
"""What a US panel lists, in its order; trans fat and added sugars are not in the table and must be added by hand."""

ENERGY_FACTORS = {
    # part: (kJ per g, kcal per g)
    "fat": (37.0, 9.0),
    "carbohydrate": (17.0, 4.0),
    "protein": (17.0, 4.0),
    "fibre": (8.0, 2.0),
    "alcohol": (29.0, 7.0),
}
"""Energy of a gram on EU labels. Source: eu-1169-2011."""

EU_SALT_PER_SODIUM = 2.5
"""Salt per sodium on EU labels [-]. Source: eu-1169-2011."""


@dataclass(frozen=True)
class PanelLine:
    """One line of a nutrition panel.

    key: nutrient, as in ``Food.nutrients``
    name: words on the panel
    amount: rounded amount with its unit
    daily_value: percent of the daily value as printed, or nothing
    """

    key: str
    name: str
    amount: str
    daily_value: str = ""


def per_serving(nutrients: dict[str, float], serving: float) -> dict[str, float]:
    """Return the nutrients of a serving from those of 100 g.

    nutrients: per 100 g, keyed like ``protein_g``
    serving: mass of the serving [kg]
    """
    check_range("serving", serving, 0, 100, "mass", msg("enter the weight of one serving"), above=True)
    return {key: value * serving / 0.1 for key, value in nutrients.items()}


def dried(nutrients: dict[str, float], fresh_water: float, dry_water: float) -> dict[str, float]:
    """Return the nutrients per 100 g of the dried food from those of the fresh food; nothing but water leaves.

    nutrients: per 100 g fresh
    fresh_water: wet-basis water of the fresh food [-]
    dry_water: wet-basis water of the dried food [-]
    """
    return {key: value * concentration(fresh_water, dry_water) for key, value in nutrients.items()}


def concentration(fresh_water: float, dry_water: float) -> float:
    """Mass of fresh food that one mass of dried food stands for [-].

    fresh_water: wet-basis water of the fresh food [-]
    dry_water: wet-basis water of the dried food [-]
    Valid: dry_water up to fresh_water, below 1.
    Source: definition, the solids stay.

    >>> print(f"{concentration(0.9, 0.02):.2f}")
    9.80
    """
    if not 0 <= fresh_water < 1:
        raise InputError(
            "fresh_water", msg("{water:g} is not a water content below 1; some solids must be left", water=fresh_water)
        )
    if not 0 <= dry_water <= fresh_water:
        raise InputError(
            "dry_water",
            msg(
                "{dry:g} is out of range; use 0 to {fresh:g}, the water of the fresh food",
                dry=dry_water,
                fresh=fresh_water,
            ),
        )
    return (1.0 - dry_water) / (1.0 - fresh_water)


def nearest_step(value: float, step: float) -> float:
    """Return a number rounded to a step, halves upwards, as label rules have it.

    >>> nearest_step(2.5, 1.0), nearest_step(47.5, 5.0)
    (3.0, 50.0)
    """
    return math.floor(value / step + 0.5 + 1e-9) * step


def us_amount(key: str, amount: float) -> str:
    """Return an amount per serving as a US label prints it.

    key: ``energy_kcal``, ``fat_g``, ``sodium_mg`` …
    amount: in the unit of the key

    >>> us_amount("energy_kcal", 47), us_amount("fat_g", 2.3), us_amount("protein_g", 0.7)
    ('45', '2.5 g', 'less than 1 g')
    """
    if amount < 0:
        raise InputError(key, msg("{amount:g} is negative; an amount is 0 or more", amount=amount))
    if key == "energy_kcal":
        return f"{0 if amount < 5 else nearest_step(amount, 5 if amount <= 50 else 10):.0f}"
    if key in ("fat_g", "saturated_g"):
        return f"{0 if amount < 0.5 else nearest_step(amount, 0.5 if amount < 5 else 1):g} g"
    if key == "cholesterol_mg":
        return msg("less than 5 mg") if 2 <= amount <= 5 else f"{0 if amount < 2 else nearest_step(amount, 5):.0f} mg"
    if key in ("sodium_mg", "potassium_mg"):
        return f"{0 if amount < 5 else nearest_step(amount, 5 if amount <= 140 else 10):.0f} mg"
    if key in ("carbohydrate_g", "fibre_g", "sugars_g", "added_sugars_g", "protein_g"):
        return msg("less than 1 g") if 0.5 <= amount < 1 else f"{0 if amount < 0.5 else nearest_step(amount, 1):.0f} g"
    step, unit = {"calcium_mg": (10.0, "mg"), "iron_mg": (0.1, "mg"), "vitamin_d_ug": (0.1, "mcg")}.get(
        key, (0.01, key.rsplit("_", 1)[-1].replace("ug", "mcg"))
    )
    return f"{nearest_step(amount, step):.6g} {unit}"


def us_daily_value(key: str, amount: float) -> str:
    """Return the percent of the daily value as a US label prints it, or nothing where there is none.

    key: as in ``DAILY_VALUES``
    amount: per serving, in the unit of the key

    >>> us_daily_value("calcium_mg", 260), us_daily_value("iron_mg", 0.7), us_daily_value("sugars_g", 9)
    ('20%', '4%', '')
    """
    if key not in DAILY_VALUES:
        return ""
    percent = 100.0 * amount / DAILY_VALUES[key]
    if key in WHOLE_PERCENT:
        return f"{nearest_step(percent, 1):.0f}%"
    if percent < 2:
        return "0%"
    return f"{nearest_step(percent, 2 if percent <= 10 else 5 if percent <= 50 else 10):.0f}%"


def us_panel(serving_nutrients: dict[str, float]) -> list[PanelLine]:
    """Return the lines of a US panel for the nutrients of a serving; unknown nutrients are left out."""
    lines = []
    for key, name in NAMES.items():
        if key in serving_nutrients:
            amount = serving_nutrients[key]
            percent = "" if key == "protein_g" else us_daily_value(key, amount)
            lines.append(PanelLine(key, name, us_amount(key, amount), percent))
    return lines


def us_servings(package: float, serving: float) -> str:
    """Return the number of servings in a package as a US label prints it.

    package: net mass [kg]
    serving: mass of a serving [kg]

    >>> us_servings(0.1, 0.03), us_servings(0.09, 0.03), us_servings(0.28, 0.03)
    ('about 3.5', '3', 'about 9')
    """
    check_range("serving", serving, 0, package, "mass", msg("a serving can't be more than the package"), above=True)
    count = package / serving
    rounded = nearest_step(count, 0.5) if 2 <= count <= 5 else max(1.0, nearest_step(count, 1))
    return f"{rounded:g}" if abs(count - rounded) < 1e-6 else msg("about {count:g}", count=rounded)


def eu_amount(key: str, amount: float) -> str:
    """Return an amount per 100 g as an EU label prints it.

    key: ``energy_kj``, ``energy_kcal``, ``fat_g``, ``saturated_g``, ``carbohydrate_g``, ``salt_g`` …
    amount: in the unit of the key

    >>> eu_amount("fat_g", 12.4), eu_amount("sugars_g", 4.26), eu_amount("salt_g", 0.126)
    ('12 g', '4.3 g', '0.13 g')
    """
    if amount < 0:
        raise InputError(key, msg("{amount:g} is negative; an amount is 0 or more", amount=amount))
    if key in ("energy_kj", "energy_kcal"):
        return f"{nearest_step(amount, 1):.0f} {'kJ' if key == 'energy_kj' else 'kcal'}"
    if key == "salt_g":
        if amount <= 0.0125:
            return "<0.01 g" if amount > 0 else "0 g"
        return f"{nearest_step(amount, 0.1):.1f} g" if amount >= 1 else f"{nearest_step(amount, 0.01):.2f} g"
    floor = 0.1 if key == "saturated_g" else 0.5
    if amount <= floor:
        return f"<{floor:g} g" if amount > 0 else "0 g"
    return f"{nearest_step(amount, 1):.0f} g" if amount >= 10 else f"{nearest_step(amount, 0.1):.1f} g"


def eu_panel(nutrients: dict[str, float]) -> list[PanelLine]:
    """Return the lines of an EU panel from nutrients per 100 g, where carbohydrate still includes fibre."""
    fibre = nutrients.get("fibre_g", 0.0)
    grams = {
        "fat": nutrients["fat_g"],
        "carbohydrate": max(nutrients["carbohydrate_g"] - fibre, 0.0),
        "protein": nutrients["protein_g"],
        "fibre": fibre,
    }
    kilojoules = sum(ENERGY_FACTORS[part][0] * mass for part, mass in grams.items())
    kilocalories = sum(ENERGY_FACTORS[part][1] * mass for part, mass in grams.items())
    energy = f"{eu_amount('energy_kj', kilojoules)} / {eu_amount('energy_kcal', kilocalories)}"
    lines = [
        PanelLine("energy_kj", msg("Energy"), energy),
        PanelLine("fat_g", msg("Fat"), eu_amount("fat_g", grams["fat"])),
    ]
    if "saturated_g" in nutrients:
        lines.append(
            PanelLine("saturated_g", msg("of which saturates"), eu_amount("saturated_g", nutrients["saturated_g"]))
        )
    lines.append(PanelLine("carbohydrate_g", msg("Carbohydrate"), eu_amount("carbohydrate_g", grams["carbohydrate"])))
    if "sugars_g" in nutrients:
        lines.append(PanelLine("sugars_g", msg("of which sugars"), eu_amount("sugars_g", nutrients["sugars_g"])))
    if "fibre_g" in nutrients:
        lines.append(PanelLine("fibre_g", msg("Fiber"), eu_amount("fibre_g", fibre)))
    lines.append(PanelLine("protein_g", msg("Protein"), eu_amount("protein_g", grams["protein"])))
    if "sodium_mg" in nutrients:
        salt = EU_SALT_PER_SODIUM * nutrients["sodium_mg"] / 1000.0
        lines.append(PanelLine("salt_g", msg("Salt"), eu_amount("salt_g", salt)))
    return lines
