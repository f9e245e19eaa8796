"""A recipe written for fresh food, cooked from dried food."""

from dataclasses import dataclass

from drystow.errors import check_range
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.packing.plan import POWDER_BULK_DENSITY
from drystow.serving.cautions import serving_cautions
from drystow.serving.rehydration import (
    WATER_DENSITY,
    RehydrationTime,
    dried_from_fresh,
    rehydration_time,
    water_to_add,
)


@dataclass(frozen=True)
class DriedIngredient:
    """What replaces an amount of fresh food.

    food: the food
    fresh_mass: that the recipe asks for [kg]
    dried_mass: to be weighed out [kg]
    dried_volume: of the dried food, loosely filled, or None when its bulk density is unknown [m3]
    water_mass: to be added [kg]
    water_volume: to be added [m3]
    time: how long it needs
    cautions: sentences on safety
    notes: practical sentences
    """

    food: Food
    fresh_mass: float
    dried_mass: float
    dried_volume: float | None
    water_mass: float
    water_volume: float
    time: RehydrationTime
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def replace_fresh(
    food: Food,
    fresh_mass: float,
    dry_moisture: float,
    size: float = 0.01,
    hot: bool = False,
    powder: bool = False,
    bulk_density: float | None = None,
) -> DriedIngredient:
    """Return the dried food and the water that replace an amount of fresh food in a recipe.

    food: the food, with its fresh composition
    fresh_mass: that the recipe asks for [kg]
    dry_moisture: water in the dried food, wet basis [-]
    size: thickness or diameter of the pieces [m]
    hot: soak in hot instead of cold water
    powder: powder instead of pieces
    bulk_density: of the dried food, or None: a default for powder, no volume for pieces [kg/m3]
    """
    fresh_moisture = food.composition.water
    dried = float(dried_from_fresh(fresh_mass, dry_moisture, fresh_moisture))
    water = float(water_to_add(dried, dry_moisture, fresh_moisture))
    notes = [
        msg(
            "In soups, sauces and doughs, add all the water. Otherwise start with three quarters of "
            "it, and drain what is left over."
        )
    ]
    density = bulk_density
    if density is not None:
        check_range("bulk_density", density, 10, 1500, "kg/m3")
    elif powder:
        density = POWDER_BULK_DENSITY
        notes.append(msg("Spoons and cups of powder assume 350 kg/m3; weigh one level cup for a better number."))
    return DriedIngredient(
        food=food,
        fresh_mass=fresh_mass,
        dried_mass=dried,
        dried_volume=dried / density if density else None,
        water_mass=water,
        water_volume=water / WATER_DENSITY,
        time=rehydration_time(food.food_class, size, hot and not food.may_be_raw, powder),
        cautions=serving_cautions(food),
        notes=tuple(notes),
    )


def replace_recipe(
    ingredients: tuple[tuple[Food, float], ...], dry_moisture: float, hot: bool = False
) -> tuple[DriedIngredient, ...]:
    """Return what replaces each fresh ingredient of a recipe; it may then use more or less water elsewhere.

    ingredients: foods with the fresh mass of each, in kg
    dry_moisture: water in the dried food, wet basis [-]
    hot: soak in hot instead of cold water
    """
    return tuple(replace_fresh(food, mass, dry_moisture, hot=hot) for food, mass in ingredients)
