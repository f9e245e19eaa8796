"""What Alder Lane Kitchen dries in which month, its dryers, places, own foods and recipes; all of it invented."""

from dataclasses import dataclass


@dataclass(frozen=True)
class MenuFood:
    """A food as the kitchen prepares it.

    ref: id in the food table, or own:<name>, or recipe:<name>
    name: as written on the label
    months: in which it is dried
    shape: slab, stick, sphere or cube
    size_m: thickness, diameter or edge [m]
    tray_kg: fresh mass that a tray of 0.16 m2 takes [kg]
    price: per kilogram fresh
    shop: what the same dried food costs in a shop, per kilogram fresh
    frozen: it comes frozen from a household freezer
    program: mild, usual or warm
    """

    ref: str
    name: str
    months: tuple[int, ...]
    shape: str
    size_m: float
    tray_kg: float
    price: float
    shop: float
    frozen: bool = False
    program: str = "usual"


ALL_YEAR = tuple(range(1, 13))
PROGRAMS: dict[str, tuple[dict[str, float | None], ...]] = {
    "mild": ({"shelf_c": -10.0, "hours": 3.0}, {"shelf_c": 10.0, "hours": 12.0}, {"shelf_c": 40.0, "hours": None}),
    "usual": ({"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 15.0, "hours": 9.0}, {"shelf_c": 45.0, "hours": None}),
    "warm": ({"shelf_c": 0.0, "hours": 2.0}, {"shelf_c": 25.0, "hours": 8.0}, {"shelf_c": 50.0, "hours": None}),
}
CUTS = (
    MenuFood("f05469", "Strawberries, sliced", (5, 6, 7), "slab", 0.009, 1.2, 4.2, 15.0, program="mild"),
    MenuFood("f04597", "Raspberries, whole", (6, 7, 8), "sphere", 0.016, 1.1, 7.5, 22.0, True, "mild"),
    MenuFood("f00503", "Blueberries, halved", (7, 8), "sphere", 0.009, 1.2, 6.0, 18.0, program="mild"),
    MenuFood("f01222", "Cherries, halved", (6, 7), "sphere", 0.012, 1.2, 5.5, 17.0, program="mild"),
    MenuFood("f03900", "Peaches, sliced", (7, 8, 9), "slab", 0.008, 1.2, 3.4, 13.0, program="mild"),
    MenuFood("f00065", "Apples, rings", (9, 10, 11, 12), "slab", 0.007, 1.1, 1.9, 9.0, program="mild"),
    MenuFood("f03958", "Pears, sliced", (9, 10), "slab", 0.008, 1.1, 2.3, 10.0, program="mild"),
    MenuFood("f00177", "Bananas, sliced", ALL_YEAR, "slab", 0.008, 1.2, 1.5, 8.0, program="mild"),
    MenuFood("f00108", "Asparagus, cut", (4, 5), "stick", 0.010, 1.1, 5.0, 14.0),
    MenuFood("f04626", "Rhubarb, cut", (4, 5), "stick", 0.012, 1.1, 2.2, 8.0),
    MenuFood("f03972", "Peas", (6, 7), "sphere", 0.008, 1.2, 3.0, 9.0),
    MenuFood("f00256", "Green beans, cut", (7, 8, 9), "stick", 0.008, 1.1, 2.6, 9.0),
    MenuFood("f01717", "Sweet corn, kernels", (8, 9), "sphere", 0.009, 1.2, 2.0, 8.0),
    MenuFood("f05750", "Tomatoes, sliced", (8, 9), "slab", 0.008, 1.2, 1.8, 9.0),
    MenuFood("f05416", "Zucchini, sliced", (7, 8, 9), "slab", 0.007, 1.1, 1.2, 7.0),
    MenuFood("f05419", "Butternut squash, diced", (10, 11, 12, 1), "cube", 0.010, 1.2, 1.6, 7.0),
    MenuFood("f00971", "Carrots, sliced", (10, 11, 12, 1, 2, 3), "slab", 0.005, 1.1, 1.1, 6.0),
    MenuFood("f03518", "Mushrooms, sliced", ALL_YEAR, "slab", 0.006, 0.9, 4.4, 16.0),
    MenuFood("f03726", "Onions, diced", (11, 12, 1, 2, 3), "cube", 0.007, 1.1, 1.0, 6.0),
    MenuFood("f04023", "Red peppers, strips", (8, 9, 10), "stick", 0.007, 1.0, 3.0, 12.0),
    MenuFood("f05400", "Spinach, leaves", (4, 5, 10), "slab", 0.006, 0.7, 3.6, 12.0),
    MenuFood("f03056", "Kale, leaves", (12, 1, 2, 3), "slab", 0.006, 0.7, 3.0, 11.0),
    MenuFood("f03834", "Parsley", (5, 6, 9), "slab", 0.006, 0.5, 8.0, 30.0),
    MenuFood("f04377", "Potatoes, boiled, diced", (11, 12, 1, 2, 3, 4), "cube", 0.010, 1.3, 1.2, 6.0, program="warm"),
    MenuFood("f01239", "Chicken, cooked, diced", ALL_YEAR, "cube", 0.011, 1.2, 7.0, 24.0, program="warm"),
    MenuFood("f02086", "Scrambled eggs", ALL_YEAR, "cube", 0.008, 1.1, 4.5, 18.0, program="warm"),
    MenuFood("f05435", "Beef stew", (10, 11, 12, 1, 2, 3), "slab", 0.011, 1.5, 5.0, 16.0, program="warm"),
    MenuFood("f06163", "Yogurt drops", (3, 4, 5, 6), "sphere", 0.010, 1.1, 2.6, 14.0, True, "mild"),
    MenuFood("own:Alder Lane bean chili", "Bean chili", ALL_YEAR, "slab", 0.011, 1.5, 3.2, 12.0, program="warm"),
    MenuFood("recipe:Winter vegetable soup", "Winter vegetable soup", (11, 12, 1, 2, 3), "slab", 0.010, 1.5, 1.8, 9.0),
    MenuFood(
        "recipe:Chicken and rice pot", "Chicken and rice pot", ALL_YEAR, "slab", 0.010, 1.4, 3.9, 14.0, program="warm"
    ),
)
OWN_FOODS: tuple[dict[str, object], ...] = (
    {
        "name": "Alder Lane bean chili",
        "food_class": "dish",
        "composition": {
            "water": 0.745, "protein": 0.056, "fat": 0.038, "carbohydrate": 0.098, "fibre": 0.048, "ash": 0.015,
            "sugars": 0.026, "salt": 0.007,
        },
        "moisture_from": "three spoonfuls dried to constant weight",
        "nutrients": {"energy_kcal": 107.0, "protein_g": 5.6, "fat_g": 3.8},
        "raw_animal": False,
        "allergens": [],
        "notes": "From the big pot; no meat in it.",
    },
    {
        "name": "Alder Lane oat porridge",
        "food_class": "starchy",
        "composition": {
            "water": 0.83, "protein": 0.024, "fat": 0.014, "carbohydrate": 0.107, "fibre": 0.018, "ash": 0.007,
            "sugars": 0.004, "salt": 0.001,
        },
        "moisture_from": "written on the pot: oats and water weighed",
        "raw_animal": False,
        "allergens": ["gluten"],
        "nutrients": {"energy_kcal": 69.0, "protein_g": 2.4, "fat_g": 1.4},
    },
)  # fmt: skip
RECIPES: tuple[dict[str, object], ...] = (
    {
        "name": "Winter vegetable soup",
        "cooked": True,
        "final_mass_kg": 7.6,
        "servings": 20.0,
        "method": "Sweat the onions, add the rest, simmer for 40 minutes, blend half of it.",
        "lines": (("f00971", 1.6), ("f03726", 0.9), ("f01006", 0.6), ("f04377", 1.8), ("f06035", 3.2)),
    },
    {
        "name": "Chicken and rice pot",
        "cooked": True,
        "final_mass_kg": 6.4,
        "servings": 16.0,
        "method": "Cook the rice in the broth, fold in the cooked chicken and the peas, spread to cool at once.",
        "lines": (("f01239", 2.2), ("f04672", 2.4), ("f03972", 0.9), ("f06035", 1.1)),
    },
)
DRYERS: tuple[dict[str, object], ...] = (
    {"name": "Dryer by the window", "profile": "kitchen-5", "notes": "The quieter one; door gasket on the left wears."},
    {"name": "Small dryer", "profile": "bench-4", "oil_hours_limit": 120.0, "notes": "For meat and meals."},
)
PLACES: tuple[dict[str, object], ...] = (
    {"name": "Pantry shelf", "temperature_c": 22.0, "winter_c": 18.0, "humidity": 0.45},
    {"name": "Cellar", "temperature_c": 17.0, "winter_c": 9.0, "humidity": 0.65, "notes": "Below the stairs."},
    {"name": "Freezer room", "temperature_c": -18.0, "humidity": 0.6, "notes": "For fatty foods and reserves."},
)
CONTAINERS = ("pouch-foil7-8x12", "jar-quart", "jar-half-gallon", "jar-pint")
GIFTS = ("neighbours' table", "school kitchen", "food bank", "harvest fair")
