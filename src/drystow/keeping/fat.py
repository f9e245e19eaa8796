"""When the fat of dried food turns rancid: how much fat, how unsaturated, what drives it, how much oxygen and water."""

from dataclasses import dataclass
from math import inf

from drystow.constants import ZERO_CELSIUS
from drystow.errors import check_range
from drystow.foods.kinds import is_a, property_of
from drystow.foods.model import Food
from drystow.keeping.limits import ESTIMATE, FAT, Limit, quality_table
from drystow.keeping.speed import lives
from drystow.messages import ends, msg
from drystow.packing.plan import PackPlan, describe_time
from drystow.packing.seasons import YEAR
from drystow.shown import quantity

MONTH = YEAR / 12
"""A month of a storage study [s]. Source: definition."""

LEAK_SPREAD = 3.0
"""Factor within which the leak of a closure lies [-]. Source: packaging-recall."""


@dataclass(frozen=True)
class FatQuality:
    """What makes the fat of a food turn rancid.

    fat: in the dry solids [-]
    unsaturated: of its fatty acids [-]
    poly: of the unsaturated, those with two double bonds or more [-]
    drive: speed by iron, salt, natural antioxidants and whole cells; 1 in milk powder [-]
    """

    fat: float
    unsaturated: float
    poly: float
    drive: float

    @property
    def index(self) -> float:
        """Speed of oxidation per dry solids, in no unit of its own [-]. Source: frankel for the double bonds."""
        faster = float(quality_table()["fat"]["linoleic"]["faster"])
        return self.fat * self.unsaturated * (1 - self.poly + faster * self.poly) * self.drive


def fat_quality(food: Food) -> FatQuality:
    """Return what makes the fat of a food turn rancid.

    food: fresh or dried; its saturated fat and iron where its table has them, else the typical ones of its class
    """
    made, row = food.composition, quality_table()["fat"]
    kind = property_of("fat", food.food_class, food.like)
    solids = made.solids
    saturated, total = food.nutrients.get("saturated_g"), food.nutrients.get("fat_g", 0.0)
    unsaturated = float(kind["unsaturated"])
    if saturated is not None and total > 0:
        unsaturated = min(max(1 - saturated / total, 0.0), 1.0)
    drive = float(kind["speed"])
    if is_a(food.food_class, "muscle") and solids > 0:
        iron = food.nutrients.get("iron_mg")
        drive *= 1 + (row["iron"]["typical"] if iron is None else iron / solids) / row["iron"]["doubles"]
    if solids > 0:
        drive *= 1 + row["salt"]["extra"] * min(made.salt / solids / row["salt"]["full"], 1.0)
    return FatQuality(made.fat / solids if solids > 0 else 0.0, unsaturated, float(kind["poly"]), drive)


def fat_water_speed(water_activity: float) -> float:
    """Speed of fat oxidation beside that at the slowest water activity [-].

    water_activity: of the dried food [-]
    Valid: 0 to 0.7.
    Source: labuza-map, slowest at 0.20 to 0.35, faster when drier and when moister; its heights are class defaults.

    >>> print(f"{fat_water_speed(0.1):.1f} {fat_water_speed(0.3):.1f}")
    1.5 1.0
    """
    check_range("water_activity", water_activity, 0, 1, "")
    row = quality_table()["fat"]["activity"]
    low, high = row["slowest"]
    dry = max(low - water_activity, 0.0) / low
    moist = max(min(water_activity, 0.7) - high, 0.0) / (0.7 - high)
    return float(1 + row["dry"] * dry + row["moist"] * moist)


def fat_in_air(food: Food, water_activity: float) -> float:
    """Speed at which the fat of a food turns rancid in air, beside whole milk powder [-].

    food: fresh or dried
    water_activity: of the dried food [-]
    Valid: a class with the speed of its own kind of tissue; nothing of antioxidants that were added.
    Source: lloyd2009 for the milk powder, fat-shares for the rest.
    Error: a factor of 2 for a class.
    """
    of = quality_table()["fat"]["of"]
    measure = FatQuality(of["fat"], of["unsaturated"], of["poly"], of["speed"]).index * fat_water_speed(of["activity"])
    return fat_quality(food).index * fat_water_speed(water_activity) / measure


def rancidity(plan: PackPlan) -> Limit | None:
    """Return when the fat may taste rancid, None for food without fat.

    With an absorber at work little of the speed in air is left; once it is used up the rest goes at the speed in air.

    plan: of the package
    """
    row, food = quality_table()["fat"], plan.pack.food
    speed = fat_in_air(food, plan.water_activity)
    if speed <= 0:
        return None
    slowed, until = oxygen_share(plan)
    low, central, high = lives(
        tuple(months * MONTH / speed for months in row["months"]),
        row["temperature"] + ZERO_CELSIUS,
        tuple(row["energy"]),
        plan.pack.seasons,
        slowed,
        until,
    )
    made = fat_quality(food)
    least, most = ends(*(describe_time(row["months"][end] * MONTH / speed) for end in (0, -1)))
    basis = msg(
        "Fat is {fat:.1%} of the dry food, {unsaturated:.0%} of it unsaturated. By whole milk powder, it turns rancid "
        "in {low} to {high} in air at {store}",
        fat=made.fat,
        unsaturated=made.unsaturated,
        low=least,
        high=most,
        store=quantity(row["temperature"] + ZERO_CELSIUS, "temperature"),
    )
    with_oxygen = _oxygen_words(plan, slowed, until)
    return Limit(
        FAT,
        low,
        central,
        high,
        msg("{basis}; {oxygen}.", basis=basis, oxygen=with_oxygen),
        ESTIMATE,
        row["source"],
        row["mark"],
    )


def oxygen_share(plan: PackPlan) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the shares of the speed in air while oxygen is scarce, and how long it is, low to high.

    plan: of the package
    """
    without = tuple(float(share) for share in quality_table()["fat"]["without_oxygen"]["share"])
    if plan.absorber_time > 0:
        spread = max(plan.container.material.spread, LEAK_SPREAD if plan.container.leak > 0 else 1.0)
        return without, tuple(plan.absorber_time * factor for factor in (1 / spread, 1.0, spread))
    if plan.pack.air_left < 1 and plan.container.oxygen_barrier:
        left = plan.pack.air_left
        return tuple(share + (1 - share) * left for share in without), (inf, inf, inf)
    return (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)


def _oxygen_words(plan: PackPlan, slowed: tuple[float, ...], until: tuple[float, ...]) -> str:
    if plan.absorber_time == 0 and slowed[0] < 1:
        return msg("the vacuum leaves {share:.0%} of that speed", share=slowed[1])
    if plan.absorber_time == 0:
        return msg("no absorber holds the oxygen back")
    if until[1] == inf:
        return msg("the absorber leaves {high:.0%} to {low:.0%} of that speed", high=slowed[-1], low=slowed[0])
    return msg(
        "the absorber ({sachets}) leaves {high:.0%} to {low:.0%} of that speed until it is used up by {yearly} a year",
        sachets=plan.absorbers.text,
        high=slowed[-1],
        low=slowed[0],
        yearly=quantity(plan.ingress * YEAR, "gas", 1),
    )
