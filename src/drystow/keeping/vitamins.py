"""What is left of vitamins: a line of its own, not the end of eating."""

from dataclasses import dataclass

from drystow.foods.kinds import class_row, is_a
from drystow.foods.model import Food
from drystow.keeping.limits import quality_table
from drystow.keeping.speed import speed_ratio
from drystow.messages import msg
from drystow.packing.seasons import YEAR
from drystow.shown import quantity


@dataclass(frozen=True)
class VitaminLeft:
    """What is known of one vitamin at the end of the counted time.

    name: vitamin C or thiamin
    left: share of it, None where no study gives a speed [-]
    text: one sentence
    source: key in sources.toml
    mark: how the figure got here
    """

    name: str
    left: float | None
    text: str
    source: str
    mark: str


def thiamin_left(food_class: str, time: float) -> float | None:
    """Share of thiamin left, at the rate seen in food about 50 years old; None for classes without data [-].

    food_class: class of the food
    time: in the store [s]
    Valid: unknown temperatures of that food's stores; first order.
    Source: byu-11075, 78% lost in beef, 49% in green beans.

    >>> print(f"{thiamin_left('meat', 10 * YEAR):.2f}")
    0.74
    """
    lost = class_row(food_class).get("thiamin_lost")
    return None if lost is None else float((1 - lost) ** (time / (quality_table()["thiamin"]["years"] * YEAR)))


def vitamins_left(food: Food, time: float, temperature: float) -> tuple[VitaminLeft, ...]:
    """Return what is known of the vitamins of a food after a time.

    food: fresh or dried
    time: in the store [s]
    temperature: of the store, mean over the year [K]
    """
    found = []
    row = quality_table()["thiamin"]
    if (left := thiamin_left(food.food_class, time)) is not None:
        text = msg("About {left:.0%} of the thiamin is left by then, judging by food about 50 years old.", left=left)
        found.append(VitaminLeft(msg("thiamin"), left, text, row["source"], row["mark"]))
    row = quality_table()["vitamin_c"]
    if is_a(food.food_class, "vitamin-c"):
        slow, fast = (speed_ratio(energy, temperature, temperature - 10) for energy in row["energy"])
        text = msg(
            "How much vitamin C is left is not known. It lasts {slow:.1f} to {fast:.1f} times as long in a place "
            "{step} cooler.",
            slow=slow,
            fast=fast,
            step=quantity(10.0, "temperature difference", 0),
        )
        found.append(VitaminLeft(msg("vitamin C"), None, text, row["source"], row["mark"]))
    return tuple(found)
