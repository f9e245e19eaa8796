"""What Alder Lane Kitchen dries in which month, what it plans, its dryers, places, own foods, recipes; all invented."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from drystow.messages import msg
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.reader import kitchen_zone
from drystow.web.plans.models import Choice, Crop, Lot, Plan, PlanDryer, Season


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
    skin: what was done to its skin, as an `Item` has it
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
    skin: str = ""


ALL_YEAR = tuple(range(1, 13))
PROGRAMS: dict[str, tuple[dict[str, float | None], ...]] = {
    "mild": ({"shelf_c": -10.0, "hours": 3.0}, {"shelf_c": 10.0, "hours": 12.0}, {"shelf_c": 40.0, "hours": None}),
    "usual": ({"shelf_c": -10.0, "hours": 2.0}, {"shelf_c": 15.0, "hours": 9.0}, {"shelf_c": 45.0, "hours": None}),
    "warm": ({"shelf_c": 0.0, "hours": 2.0}, {"shelf_c": 25.0, "hours": 8.0}, {"shelf_c": 50.0, "hours": None}),
}
CUTS = (
    MenuFood("f05469", "Strawberries, sliced", (5, 6, 7), "slab", 0.009, 1.2, 4.2, 15.0, program="mild"),
    MenuFood("f04597", "Raspberries, whole", (6, 7, 8), "sphere", 0.016, 1.1, 7.5, 22.0, True, "mild"),
    MenuFood("f00503", "Blueberries, halved", (7, 8), "sphere", 0.009, 1.2, 6.0, 18.0, False, "mild", "halved"),
    MenuFood("f01222", "Cherries, halved", (6, 7), "sphere", 0.012, 1.2, 5.5, 17.0, False, "mild", "halved"),
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
GIFTS = ("neighbors' table", "school kitchen", "food bank", "harvest fair")


WORDS = msg("demo")
HOME: dict[str, list[str]] = {"weekdays": ["6:30-8:30", "17-22"], "weekend": ["8-22"]}
TARIFF: dict[str, Any] = {"price": 0.15, "hours": [{"days": "weekdays", "span": "16-21", "price": 0.34}]}
LOTS = ((0, 9, 3.2), (0, 18, 5.4), (1, 10, 4.1), (1, 18, 6.2), (3, 12, 4.8), (3, 18, 5.1), (4, 9, 3.7), (5, 10, 4.4))
"""Day and hour of arrival, and fresh mass [kg]."""
GARDEN = (
    # food, first, peak and last day as (month, day), mass of a season [kg], pickings per week
    ("Strawberries, sliced", (5, 25), (6, 10), (6, 30), 76.0, 3.0),
    ("Peas", (6, 12), (6, 22), (7, 5), 30.0, 2.0),
    ("Raspberries, whole", (6, 28), (7, 10), (7, 30), 26.0, 3.0),
    ("Green beans, cut", (7, 5), (7, 28), (8, 31), 60.0, 2.0),
    ("Zucchini, sliced", (7, 1), (8, 1), (9, 10), 90.0, 2.0),
    ("Sweet corn, kernels", (8, 5), (8, 20), (9, 10), 64.0, 2.0),
    ("Tomatoes, sliced", (8, 1), (8, 25), (9, 25), 140.0, 3.0),
    ("Red peppers, strips", (8, 15), (9, 5), (9, 30), 36.0, 1.0),
    ("Apples, rings", (9, 5), (9, 25), (10, 15), 120.0, 1.0),
)


def save_plans(dryers: list[Dryer], refs: Mapping[str, str], now: datetime) -> None:
    """Save a plan of the week that begins now, and a season of the next summer.

    dryers: of the kitchen
    refs: of own foods and recipes, by the names that `CUTS` has
    now: this moment
    """
    midnight = now.astimezone(kitchen_zone(records.kitchen().time_zone)).replace(hour=0, minute=0, second=0)
    today = midnight.date()
    plan = _save(
        Plan(title="A full week", begin=today, days=7, home=HOME, tariff=TARIFF, freezer_m3=0.045, apart=["smells"])
    )
    for dryer in dryers:
        _save(PlanDryer(plan=plan, dryer=dryer, program=list(PROGRAMS["usual"])))
    for cut, (day, hour, mass) in zip(_of_month(today.month), LOTS, strict=False):
        _save(
            Lot(
                plan=plan,
                name=cut.name,
                food=refs.get(cut.ref, cut.ref),
                mass_kg=mass,
                arrives=midnight + timedelta(days=day, hours=hour),
                shape=cut.shape,
                size_m=cut.size_m,
                tray_kg=cut.tray_kg,
                value_per_kg=round(cut.shop - cut.price, 1),
                frozen=cut.frozen,
                extra={"skin_state": cut.skin} if cut.skin else {},
            )
        )
    _season(dryers, today)


def _of_month(month: int) -> Iterator[MenuFood]:
    yield from (cut for cut in CUTS if month in cut.months)


def _season(dryers: list[Dryer], today: date) -> None:
    year = today.year + (today.month >= 4)
    season = _save(
        Season(
            title="Next summer's garden", begin=date(year, 5, 20), weeks=22, home=HOME, tariff=TARIFF, freezer_m3=0.09
        )
    )
    cuts = {cut.name: cut for cut in CUTS}
    for name, first, peak, last, mass, pickings in GARDEN:
        cut = cuts[name]
        _save(
            Crop(
                season=season,
                name=name,
                food=cut.ref,
                shape=cut.shape,
                size_m=cut.size_m,
                tray_kg=cut.tray_kg,
                first=date(year, *first),
                peak=date(year, *peak),
                last=date(year, *last),
                mass_kg=mass,
                per_week=pickings,
                value_per_kg=round(cut.shop - cut.price, 1),
            )
        )
    small = [{"dryer": dryers[-1].pk}]
    _save(Choice(season=season, name="Only the small dryer", dryers=small))
    _save(Choice(season=season, name="Both dryers", dryers=[{"dryer": dryer.pk} for dryer in dryers], price=3000.0))
    _save(Choice(season=season, name="A larger one in its place", dryers=[{"profile": "floor-7"}], price=4500.0))


def _save(row: Any) -> Any:
    return records.create(row, words=WORDS)
