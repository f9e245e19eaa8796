"""A planned load as tables of a load file."""

import math
from typing import Any

from drystow.planning.load.basket import LoadRequest
from drystow.planning.load.choices import State, in_order, item_of

TENTH_GRAM = 1e-4  # masses are written to it, rounded down so that trap and rim still hold [kg]


def load_tables(counter: LoadRequest, state: State) -> dict[str, Any]:
    """Return a planned load as the tables of a load file.

    counter: what there is
    state: the choice
    """
    trays = []
    for number in in_order(counter, state):
        item = item_of(counter, number, state[number])
        mass = math.floor(item.mass / TENTH_GRAM + 1e-6) * TENTH_GRAM
        area = item.areas.above if item.shape == "slab" else counter.place_area
        table = {
            **counter.wishes[number].written,
            "mass": f"{mass:.4f} kg",
            "size": f"{item.size * 1000:.6g} mm",
            "area": f"{area:.6g} m^2",
        }
        trays += [table] * state[number].places
    return {"title": str(counter.title), **counter.written, "tray": trays}
