"""Rows of own foods: from what a person measured or read on a label, or from a file, found again or made."""

from typing import Any

from drystow.foods.derive import SALT_PER_SODIUM
from drystow.foods.marks import known_allergens
from drystow.foods.model import Composition, Food
from drystow.foods.own import from_label, from_moisture
from drystow.foods.table import get
from drystow.foods.written import FRACTIONS
from drystow.messages import msg
from drystow.web.foods.adapters import scaled_nutrients
from drystow.web.foods.models import OwnFood
from drystow.web.kit import records

GRAM = 1e-3
HUNDRED = 0.1  # kg
MASSES = ("protein", "fat", "carbohydrate", "fibre", "sugars")


def values_from_label(data: dict[str, Any]) -> dict[str, Any]:
    """Return composition and nutrients of a food from the figures of its label.

    data: cleaned values of `LabelForm`, masses in grams, sodium in milligrams, amount in kilograms
    """
    masses: dict[str, Any] = {name: (data[name] or 0.0) * GRAM for name in MASSES}
    masses["sugars"] = None if data["sugars"] is None else data["sugars"] * GRAM
    composition = from_label(
        data["amount"],
        **masses,
        sodium=(data["sodium"] or 0.0) * GRAM * GRAM,
        food_class=data["food_class"],
        fibre_in_carbohydrate=not data["fibre_apart"],
        moisture=data["moisture"],
    )
    per_hundred = HUNDRED / data["amount"]
    carbohydrate = data["carbohydrate"] + ((data["fibre"] or 0.0) if data["fibre_apart"] else 0.0)
    written = {
        "energy_kcal": data["energy"],
        "protein_g": data["protein"],
        "fat_g": data["fat"],
        "saturated_g": data["saturated"],
        "carbohydrate_g": carbohydrate,
        "fibre_g": data["fibre"],
        "sugars_g": data["sugars"],
        "sodium_mg": data["sodium"],
    }
    nutrients = {key: value * per_hundred for key, value in written.items() if value is not None}
    return _row(composition, nutrients, data["moisture_from"])


def values_from_moisture(data: dict[str, Any]) -> dict[str, Any]:
    """Return composition and nutrients of a food from its measured moisture.

    data: cleaned values of `MoistureForm`
    """
    like = get(data["like"])
    composition = from_moisture(data["moisture"], like, data["moisture_sd"])
    return _row(composition, scaled_nutrients(like, data["moisture"]), data["moisture_from"])


def label_start(row: OwnFood) -> dict[str, Any]:
    """Return what the label form shows for a food whose typed figures are not known: its parts in 100 g."""
    parts = {name: float(row.composition.get(name, 0.0)) * HUNDRED / GRAM for name in FRACTIONS}
    return {
        "amount": "100 g",
        "energy": row.nutrients.get("energy_kcal"),
        "saturated": row.nutrients.get("saturated_g"),
        **{name: round(parts[name], 2) for name in ("protein", "fat", "fibre")},
        "sugars": None if parts["sugars_sd"] else round(parts["sugars"], 2),
        "carbohydrate": round(parts["carbohydrate"] + parts["fibre"], 2),
        "sodium": round(parts["salt"] / SALT_PER_SODIUM / GRAM, 1),
        "moisture": float(row.composition["water"]),
        "moisture_from": row.moisture_from,
    }


def _row(composition: Composition, nutrients: dict[str, float], moisture_from: str) -> dict[str, Any]:
    return {
        "composition": {name: getattr(composition, name) for name in FRACTIONS},
        "moisture_sd": composition.water_sd,
        "moisture_from": moisture_from,
        "nutrients": nutrients,
    }


WORDS = msg("load file")


def own_food(food: Food, who: str) -> OwnFood:
    """Return the own food with this name, composition and marks, a new one when there is none.

    food: with its marks; those that it does not state may be anything in the own food
    who: makes it
    """
    fractions = {name: getattr(food.composition, name) for name in FRACTIONS}
    name, count = food.name[:100], 1
    while found := OwnFood.objects.filter(name=name).first():
        if {part: found.composition.get(part, 0.0) for part in FRACTIONS} == fractions and _says(found, food):
            return found
        count += 1
        name = f"{food.name[:100]} ({count})"
    made = OwnFood(
        name=name,
        food_class=food.food_class,
        like=list(food.like),
        composition=fractions,
        moisture_sd=food.composition.water_sd,
        moisture_from=WORDS,
        raw_animal=food.raw_animal,
        allergens=list(food.allergens),
        skin=food.skin,
        nutrients=dict(food.nutrients),
    )
    return records.create(made, who=who, words=WORDS)


def _says(row: OwnFood, food: Food) -> bool:
    """Return whether an own food says all that a file states of it."""
    raw = food.raw_animal is None or row.raw_animal is food.raw_animal
    known = set(known_allergens(food.allergens)) <= set(row.allergens)
    same = set(row.allergens) == set(food.allergens) if food.allergens_stated else known
    alike = (row.food_class, tuple(row.like), row.skin) == (food.food_class, food.like, food.skin)
    return alike and raw and same
