"""A planned load as tables of a load file."""

import math
from typing import Any

from drystow.fields import in_file_notation
from drystow.planning.load.basket import LoadRequest
from drystow.planning.load.choices import State, in_order, item_of
from drystow.units import SI

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
            "mass": SI(round(mass, 4), "mass"),
            "size": SI(round(item.size, 7), "length"),
            "area": SI(round(area, 6), "area"),
        }
        trays += [table] * state[number].places
    tables: dict[str, Any] = in_file_notation({"title": str(counter.title), **counter.written, "tray": trays})
    return tables
