"""Small counters that the tests of planning share: invented amounts at Alder Lane Kitchen."""

import random
from typing import Any

from drystow.planning.load.basket import LoadRequest, parse_basket

PROGRAM = {"shelf": ["-10 degC for 2 h", "40 degC until dry"]}
FOODS = (
    ("Strawberries, raw", "slab"),
    ("Corn, sweet, yellow, raw", "sphere"),
    ("Apples, raw, without skin", "slab"),
    ("Stew, beef", "slab"),
    ("Chicken breast, stewed, skin not eaten", "cube"),
    ("Carrots, raw", "cube"),
    ("Onions, raw", "slab"),
)


def food(name: str, mass: str = "1 kg", shape: str = "slab", **changes: Any) -> dict[str, Any]:
    """One food on the counter, cut to 10 mm unless something else is asked for."""
    table = {"food": name, "mass": mass, "shape": shape, **changes}
    if not {"size", "sizes", "thinnest"} & set(table):
        table["size"] = "10 mm"
    return table


def counter(*foods: dict[str, Any], time: str = "30 h", profile: str = "bench-4", **changes: Any) -> LoadRequest:
    """A counter with a plain program."""
    dryer = {"profile": profile, **changes.pop("dryer", {})}
    return parse_basket({"time": time, "dryer": dryer, "program": PROGRAM, "food": list(foods)} | changes)


def random_counter(seed: int) -> LoadRequest:
    """A counter so small that every load on a coarse grid can be tried."""
    dice = random.Random(seed)
    foods = [
        food(
            name,
            f"{dice.choice([0.5, 1, 1.5, 2, 3])} kg",
            shape,
            sizes=[f"{size} mm" for size in dice.sample([6, 8, 10, 12, 14], 2)],
            value=dice.choice([1, 1, 1, 2]),
            must=dice.random() < 0.2,
        )
        for name, shape in dice.sample(FOODS, dice.choice([2, 2, 3]))
    ]
    dryer = {"trays": dice.choice([2, 3]), "trap_capacity": f"{dice.choice([1.2, 2.0, 3.6])} kg"}
    return counter(*foods, time=f"{dice.choice([14, 16, 18, 20, 24, 30])} h", dryer=dryer)
