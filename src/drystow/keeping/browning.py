"""When dried food has browned: reducing sugars with protein, water activity and temperature, with or without oxygen."""

from math import exp

from drystow.constants import ZERO_CELSIUS
from drystow.errors import check_range
from drystow.foods.model import Food
from drystow.keeping.limits import BROWNING, ESTIMATE, Limit, quality_table
from drystow.keeping.speed import lives
from drystow.messages import msg
from drystow.packing.plan import PackPlan
from drystow.packing.seasons import YEAR
from drystow.properties.ice import solutes
from drystow.shown import quantity


def browning_reactants(food: Food) -> float:
    """Root of reducing sugars times protein, as shares of the dry solids [-].

    food: fresh or dried
    Valid: the root is a choice: potato with few sugars and apple with little protein darkened alike (usu-5494).
    Source: maillard-order for the sugars.
    """
    made = food.composition
    if made.solids <= 0:
        return 0.0
    weights = quality_table()["browning"]["reducing"]
    sugars = solutes(made, food.food_class, food.like)
    reducing = sum(float(weights.get(sugar, 0.0)) * mass for sugar, mass in sugars.items())
    return float((reducing * made.protein) ** 0.5 / made.solids)


def browning_water_speed(water_activity: float, slope: float) -> float:
    """Speed of browning beside that at the water activity of the storage studies [-].

    water_activity: of the dried food [-]
    slope: e-folds per unit of water activity [-]
    Valid: 0 to 0.9; how steep it is differs from food to food, so three slopes are used.
    Source: rapusas1995 for the maximum at 0.60 to 0.70; slopes and floor are class defaults.

    >>> print(f"{browning_water_speed(0.33, 5.0):.2f} {browning_water_speed(0.6, 5.0):.2f}")
    1.00 3.86
    """
    check_range("water_activity", water_activity, 0, 1, "")
    row = quality_table()["browning"]
    level = min(water_activity, row["water"]["top"])
    return float(max(exp(slope * (level - row["activity"])), row["water"]["floor"]))


def browning(plan: PackPlan) -> Limit | None:
    """Return when browning spoils look and taste, None for food without reducing sugars or protein.

    plan: of the package; the water activity is that of packing, what comes in later ends its crispness first
    """
    row = quality_table()["browning"]
    reactants = browning_reactants(plan.pack.food)
    if reactants <= 0:
        return None
    faster = reactants / row["reactants"]
    # drier food is given the least credit in the pessimistic life; moister food there browns the fastest
    slopes = row["water"]["slope"] if plan.water_activity <= row["activity"] else row["water"]["slope"][::-1]
    low, central, high = lives(
        tuple(
            years * YEAR / faster / browning_water_speed(plan.water_activity, slope)
            for years, slope in zip(row["years"], slopes, strict=True)
        ),
        row["temperature"] + ZERO_CELSIUS,
        tuple(row["energy_of"].get(plan.pack.food.food_class, row["energy"])),
        plan.pack.seasons,
    )
    basis = msg(
        "Browning needs sugar and protein but no oxygen: dried potato and carrots kept {low:g} to {high:g} years at "
        "{store}. This food has {times:.1f} times what browns in them, at a water activity of {activity:.2f}.",
        low=row["years"][0],
        high=row["years"][-1],
        store=quantity(row["temperature"] + ZERO_CELSIUS, "temperature"),
        times=faster,
        activity=plan.water_activity,
    )
    return Limit(BROWNING, low, central, high, basis, ESTIMATE, row["source"], row["mark"])
