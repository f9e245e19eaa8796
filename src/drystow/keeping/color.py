"""When the color of dried plants fades: the green of leaves, the orange of carrots; the red of berries holds."""

from drystow.constants import ZERO_CELSIUS
from drystow.foods.kinds import is_a, of_relatives
from drystow.foods.model import Food
from drystow.keeping.fat import oxygen_share
from drystow.keeping.limits import COLOR, ESTIMATE, Limit, quality_table
from drystow.keeping.speed import lives
from drystow.messages import msg
from drystow.packing.plan import PackPlan, describe_time
from drystow.packing.seasons import DAY
from drystow.shown import quantity

ANTHOCYANIN, CAROTENOID, CHLOROPHYLL, NONE = "anthocyanin", "carotenoid", "chlorophyll", "none"

RED_HOLDS = msg("Freeze-dried berries kept their red and blue in a storage study, even in air.")
"""Source: michalczyk2009; its abstract prints no time, so it ends nothing here."""

NOT_BLANCHED = msg("Not blanched, green food fades in about a third of that time.")
"""Source: tcsae2010, 168 days against 465."""


def pigment(food: Food) -> str:
    """Return what colors a plant, `NONE` for all else.

    food: by its kinds; where they say nothing, vitamin K tells green food, vitamin A orange food
    """
    if not is_a(food.food_class, "tissue") or is_a(food.food_class, "muscle"):
        return NONE
    told = of_relatives("pigment", food.food_class, food.like)
    if told is not None:
        return str(told)
    row = quality_table()["color"]["leaf"]
    if food.food_class != "fruit" and food.nutrients.get("vitamin_k_ug", 0.0) >= row["vitamin_k"]:
        return CHLOROPHYLL
    return CAROTENOID if food.nutrients.get("vitamin_a_ug", 0.0) >= row["vitamin_a"] else NONE


def fading(plan: PackPlan) -> Limit | None:
    """Return when the color has faded, None for food without a pigment that was studied.

    plan: of the package
    """
    name = pigment(plan.pack.food)
    if name not in (CAROTENOID, CHLOROPHYLL):
        return None
    row = quality_table()["color"][name]
    held = oxygen_share(plan) if name == CAROTENOID else ()
    low, central, high = lives(
        tuple(days * DAY for days in row["days"]),
        row["temperature"] + ZERO_CELSIUS,
        tuple(row["energy"]),
        plan.pack.seasons,
        *held,
    )
    store = quantity(row["temperature"] + ZERO_CELSIUS, "temperature")
    if name == CHLOROPHYLL:
        basis = msg(
            "Green fades also without oxygen: blanched freeze-dried spinach kept it for {time} at {store}, dry split "
            "peas for about 25 years.",
            time=describe_time(row["days"][0] * DAY),
            store=store,
        )
    else:
        basis = msg(
            "Orange fades with oxygen: half of it was gone from freeze-dried carrot extract in 8 to 12 months in air "
            "at {store}.",
            store=store,
        )
    return Limit(COLOR, low, central, high, basis, ESTIMATE, row["source"], row["mark"])
