"""Classes, allergens and the raw-animal mark against a list made by hand (common practice)."""

import pytest

from drystow.errors import InputError
from drystow.foods import classify
from drystow.foods.model import Composition, Food
from drystow.foods.table import every, get

BY_HAND = {
    "fruit": [
        "Blueberries, raw",
        "Bananas, raw",
        "Apple, dried",
        "Salmonberries, raw (Alaska Native)",
        "Crabapples, raw",
        "Boysenberries, canned, heavy syrup",
        "Orange, raw",
        "Watermelon, raw",
        "Raisins",
    ],
    "vegetable": [
        "Carrots, raw",
        "Spinach, raw",
        "Tomatoes, raw",
        "Onions, raw",
        "Green beans, raw",
        "Squash, winter, butternut, raw",
        "Basil, fresh",
        "Avocados, raw, California",
        "Rhubarb, raw",
        "Pickles, dill",
    ],
    "starchy": [
        "Potatoes, flesh and skin, raw",
        "Corn, sweet, yellow, raw",
        "Peas, green, raw",
        "Lentils, raw",
        "Rice, white, long grain, unenriched, raw",
        "Bread, whole wheat",
        "Spaghetti, spinach, cooked",
        "Sweet potato, NFS",
        "Tofu, fried",
        "Taco shell, corn",
        "Cookie, chocolate chip",
    ],
    "mushroom": ["Mushrooms, white, raw", "Mushrooms, shiitake, dried", "Mushrooms, fresh, cooked with oil"],
    "meat": [
        "Beef, ground, raw",
        "Chicken, breast, boneless, skinless, raw",
        "Beef jerky",
        "Pork, cured, bacon, unprepared",
        "Frankfurter, beef, heated",
        "Turkey, Ground, raw",
        "Liver, chicken",
        "Bear, polar, meat, raw (Alaska Native)",
    ],
    "fish": [
        "Fish, cod, Atlantic, raw",
        "Crustaceans, shrimp, raw",
        "Fish, tuna, raw",
        "Clams, raw",
        "Fish, salmon, chinook, smoked",
        "Lobster",
    ],
    "egg": ["Egg, whole, raw, fresh", "Egg, whole, cooked, scrambled", "Egg, white, dried", "Duck egg, cooked"],
    "dairy": [
        "Milk, whole",
        "Goat milk",
        "Yogurt, plain, whole milk",
        "Ice creams, vanilla",
        "Cream, heavy",
        "Pudding, rice",
        "Ice cream sandwich",
    ],
    "cheese": ["Cheese, cheddar", "Cheese, feta", "Cheese, cottage, NFS", "Queso Asadero"],
    "dish": [
        "Stew, beef",
        "Soup, vegetable",
        "Lasagna with meat",
        "Chicken curry",
        "Chili with meat and beans",
        "Potato salad, German style",
        "Beef and rice with gravy",
        "Spaghetti sauce",
    ],
    "liquid": [
        "Orange juice, 100%, freshly squeezed",
        "Coffee, espresso",
        "Soup, stock, chicken, home-prepared",
        "Almond milk, NFS",
        "Water, tap",
        "Lemon juice, 100%, freshly squeezed",
    ],
    "sweet": ["Honey", "Sugars, granulated", "Jam", "Candies, milk chocolate", "Sorbet", "Syrups, maple"],
    "fat": [
        "Butter, salted",
        "Olive oil",
        "Nuts, almonds",
        "Peanut butter, creamy",
        "Fish oil, cod liver",
        "Mayonnaise, regular",
        "Seeds, sesame seeds, whole, dried",
    ],
}
RAW_ANIMAL = [
    "Beef, ground, raw",
    "Chicken, breast, boneless, skinless, raw",
    "Fish, cod, Atlantic, raw",
    "Egg, whole, raw, fresh",
    "Eggs, Grade A, Large, egg whole",
    "Crustaceans, shrimp, raw",
    "Oysters, raw",
    "Sushi, topped with salmon",
    "Steak tartare",
    "Ceviche",
    "Pork sausage, link/patty, unprepared",
    "Halibut, frozen, wild caught",
    "Chicken breast tenders, breaded, uncooked",
]
NOT_RAW_ANIMAL = [
    "Carrots, raw",
    "Blueberries, raw",
    "Beef jerky",
    "Stew, beef",
    "Egg, whole, cooked, scrambled",
    "Milk, whole",
    "Cheese, cheddar",
    "Bologna, beef",
    "Fish, salmon, pink, canned, drained solids",
    "Nuts, almonds, whole, raw",
    "Succotash, (corn and limas), raw",
]
ALLERGENS = {
    "Milk, whole": {"milk"},
    "Goat milk": {"milk"},
    "Cheese, cheddar": {"milk"},
    "Almond milk, NFS": {"tree nuts"},
    "Soy milk, unsweetened": {"soy"},
    "Coconut milk": set(),
    "Egg, whole, raw, fresh": {"egg"},
    "Eggplant, raw": set(),
    "Fish, cod, Atlantic, raw": {"fish"},
    "Crustaceans, shrimp, raw": {"shellfish"},
    "Clams, raw": set(),
    "Nuts, almonds": {"tree nuts"},
    "Peanut butter, creamy": {"peanut"},
    "Spices, nutmeg, ground": set(),
    "Tofu, fried": {"soy"},
    "Hummus, plain": {"sesame"},
    "Tahini": {"sesame"},
    "Bread, whole wheat": {"wheat"},
    "Soy sauce": {"soy", "wheat"},
    "Buckwheat groats, roasted, cooked": set(),
    "Squash, winter, butternut, raw": set(),
    "Butter, salted": {"milk"},
    "Beans, navy, mature seeds, raw": set(),
    "Carrots, raw": set(),
    "Beef, ground, raw": set(),
}


@pytest.mark.parametrize(("kind", "name"), [(kind, name) for kind, names in BY_HAND.items() for name in names])
def test_a_food_is_in_the_class_that_a_cook_would_say(kind: str, name: str) -> None:
    assert get(name).food_class == kind


def test_the_hand_made_list_covers_every_class_with_sixty_foods() -> None:
    assert set(BY_HAND) == {food.food_class for food in every()}
    assert sum(len(names) for names in BY_HAND.values()) >= 60


@pytest.mark.parametrize("name", RAW_ANIMAL)
def test_raw_animal_food_is_marked(name: str) -> None:
    assert get(name).raw_animal


@pytest.mark.parametrize("name", NOT_RAW_ANIMAL)
def test_plants_and_cooked_food_are_not_marked_raw(name: str) -> None:
    assert not get(name).raw_animal


@pytest.mark.parametrize(("name", "expected"), ALLERGENS.items())
def test_allergens_follow_from_the_name(name: str, expected: set[str]) -> None:
    assert set(get(name).allergens) == expected


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Pancakes, plain", {"wheat", "egg", "milk"}),
        ("Egg noodles with butter", {"wheat", "egg", "milk"}),
        ("Pad Thai with shrimp", {"peanut", "shellfish", "wheat"}),
        ("Vegetable soup", set()),
    ],
)
def test_a_dish_warns_at_least_of_what_it_is_usually_made_of(name: str, expected: set[str]) -> None:
    assert expected - {"wheat"} <= set(classify.allergens(name, "dish"))


def test_unpasteurised_milk_is_raw() -> None:
    assert classify.is_raw_animal("Raw milk", "dairy")
    assert classify.is_raw_animal("Milk, goat, unpasteurized", "dairy")
    assert not classify.is_raw_animal("Yogurt", "dairy")


def test_an_unknown_meat_counts_as_raw() -> None:
    assert classify.is_raw_animal("Venison", classify.food_class("Venison"))
    assert not classify.is_raw_animal("Venison, roasted", "meat")


def test_a_class_that_does_not_exist_is_refused() -> None:
    with pytest.raises(InputError, match="'pudding' is not a food class; the classes are fruit, vegetable"):
        Food("x", "X", "pudding", Composition(water=1.0))
