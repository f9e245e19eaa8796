"""A food of one's own from what was measured: a nutrition label, a moisture test, or both."""

import math
import re
from dataclasses import replace

from drystow.errors import InputError, check_range
from drystow.foods import classify
from drystow.foods.classify import hinted
from drystow.foods.derive import SALT_PER_SODIUM
from drystow.foods.kinds import class_row
from drystow.foods.marks import UNKNOWN
from drystow.foods.model import FOOD_CLASSES, Composition, Food, not_a_class
from drystow.foods.usual_parts import with_usual_sugars
from drystow.messages import msg

ASH_SPREAD = 0.4
"""Standard deviation of a food's ash over the mean ash of its class [-]. Source: ash-class-means."""


def from_label(
    amount: float,
    protein: float,
    fat: float,
    carbohydrate: float,
    fibre: float = 0.0,
    sugars: float | None = None,
    sodium: float = 0.0,
    alcohol: float = 0.0,
    food_class: str = "dish",
    fibre_in_carbohydrate: bool = True,
    moisture: float | None = None,
    moisture_sd: float = 0.005,
    rounding: float = 0.001,
) -> Composition:
    """Return the composition of a food from its nutrition label, and from a measured moisture when there is one.

    Without a moisture the water is what the label leaves over after an ash that is the mean of the class, or the salt
    where that is more. With a moisture the ash is what is left over.

    amount: mass that the figures refer to, a serving or 100 g [kg]
    protein: in that amount [kg]
    fat: in that amount [kg]
    carbohydrate: in that amount [kg]
    fibre: in that amount [kg]
    sugars: in that amount, None where the label says nothing of them: the usual ones [kg]
    sodium: in that amount [kg]
    alcohol: in that amount [kg]
    food_class: one of ``FOOD_CLASSES``, for its mean ash
    fibre_in_carbohydrate: true for US labels, false for EU labels
    moisture: measured water, mass fraction wet basis [-]
    moisture_sd: standard deviation of the measurement [-]
    rounding: step that the label's figures are rounded to [kg]

    >>> food = from_label(0.240, 0.008, 0.008, 0.012, sugars=0.012, sodium=0.000105, food_class="dairy")
    >>> print(f"{food.water:.3f} ± {food.water_sd:.3f}")
    0.876 ± 0.004
    """
    check_range(
        "amount", amount, 0, 1000, "kg", msg("enter the weight of the serving these figures are for"), above=True
    )
    if food_class not in FOOD_CLASSES:
        raise InputError("class", not_a_class(food_class))
    written = {"protein": protein, "fat": fat, "carbohydrate": carbohydrate, "fibre": fibre, "sugars": sugars or 0.0}
    written |= {"sodium": sodium, "alcohol": alcohol}
    for name, value in written.items():
        check_range(name, value, 0, amount, "mass", msg("more than the serving itself; are both in the same unit?"))
    share = {name: value / amount for name, value in written.items()}
    slack = rounding / amount
    if fibre_in_carbohydrate:
        if share["fibre"] > share["carbohydrate"] + slack:
            raise InputError(
                "fibre", msg("more fiber than carbohydrate; for an EU label, tick that fiber is counted separately")
            )
        share["carbohydrate"] = max(share["carbohydrate"] - share["fibre"], 0.0)
    if share["sugars"] > share["carbohydrate"] + slack:
        raise InputError("sugars", msg("more sugars than carbohydrate; check both figures"))
    salt = SALT_PER_SODIUM * share["sodium"]
    if moisture is None:
        water, ash, spread = _without_moisture(share, salt, slack, class_row(food_class)["ash"])
    else:
        water, ash, spread = moisture, _ash_beside(moisture, share, salt, slack), moisture_sd
    made = _closed(max(water, 0.0), share, max(ash, 0.0), salt, spread)
    return with_usual_sugars(made, food_class) if sugars is None else made


def _known(share: dict[str, float]) -> float:
    return share["protein"] + share["fat"] + share["carbohydrate"] + share["fibre"] + share["alcohol"]


def _without_moisture(
    share: dict[str, float], salt: float, slack: float, usual_ash: float
) -> tuple[float, float, float]:
    """Return water, ash and the water's spread where the label says no moisture: water is the rest."""
    ash = max(min(usual_ash, 1.0 - _known(share)), salt)
    water = 1.0 - _known(share) - ash
    spread = math.hypot(slack / math.sqrt(12.0) * 2.0, ASH_SPREAD * ash)
    if water < -2.0 * spread - slack:
        raise InputError(
            "label",
            msg(
                "the parts add up to {percent:.1f}% of the amount; the most is 100%, so check the serving",
                percent=100 * (_known(share) + ash),
            ),
        )
    return water, ash, spread


def _ash_beside(moisture: float, share: dict[str, float], salt: float, slack: float) -> float:
    """Return the ash where the moisture is known: ash is the rest."""
    check_range("moisture", moisture, 0, 1, "", msg("enter a fraction or a percentage of the fresh weight"))
    ash = 1.0 - _known(share) - moisture
    if not salt - 3 * slack - 0.01 <= ash <= 0.15:
        raise InputError(
            "moisture",
            msg(
                "{water:.1f}% water and the label's figures leave {minerals:.1f}% for minerals; it "
                "should be 0 to 15%, so check the moisture and the label",
                water=100 * moisture,
                minerals=100 * ash,
            ),
        )
    return ash


def _closed(water: float, share: dict[str, float], ash: float, salt: float, spread: float) -> Composition:
    """Scale the solids so that the parts add up to one around the given water."""
    solids = {name: share[name] for name in ("protein", "fat", "carbohydrate", "fibre", "alcohol")} | {"ash": ash}
    total = sum(solids.values())
    scale = (1.0 - water) / total if total > 0 else 0.0
    parts = {name: value * scale for name, value in solids.items()}
    if total <= 0:
        water = 1.0
    return Composition(
        water=water,
        **parts,
        sugars=min(share["sugars"] * scale, parts["carbohydrate"]),
        salt=min(salt * scale, parts["ash"]),
        water_sd=min(spread, 1.0),
    )


def from_moisture(moisture: float, like: Food, moisture_sd: float = 0.005) -> Composition:
    """Return the composition of a food whose moisture was measured and whose solids are those of another food.

    moisture: measured water, mass fraction wet basis [-]
    like: food whose dry matter it shares
    moisture_sd: standard deviation of the measurement [-]
    """
    check_range("moisture", moisture, 0, 1, "", msg("enter a fraction or a percentage of the fresh weight"))
    if like.composition.solids <= 0:
        raise InputError("like", msg("'{food}' has no solids to copy; choose a food that has some", food=like.name))
    return replace(like.composition.with_water(moisture), water_sd=moisture_sd)


def slug(name: str) -> str:
    """Return an identifier made from a name.

    >>> slug("Nana's beef stew, no. 2")
    'nana-s-beef-stew-no-2'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "food"


def own_food(
    name: str,
    composition: Composition,
    food_class: str | None = None,
    raw_animal: bool | None = None,
    allergens: tuple[str, ...] = UNKNOWN,
    nutrients: dict[str, float] | None = None,
    like: tuple[str, ...] | None = None,
) -> Food:
    """Return a food of the user; class and what it is like are read from the name unless given, here and never again.

    Its marks are what the user states.
    """
    if not name.strip():
        raise InputError("name", msg("a food needs a name, for example 'Garden tomatoes'"))
    kind = food_class or classify.food_class(name)
    return Food(
        id=slug(name),
        name=name.strip(),
        food_class=kind,
        composition=composition,
        like=hinted(name, kind) if like is None else like,
        raw_animal=raw_animal,
        allergens=allergens,
        nutrients=dict(nutrients or {}),
        own=True,
        source="own-measurement",
    )
