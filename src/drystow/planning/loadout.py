"""A planned load as tables of a load file, and as its text."""

import json
import math
from collections.abc import Mapping
from typing import Any

from drystow.planning.choices import State, in_order, item_of
from drystow.planning.wishes import Counter

TENTH_GRAM = 1e-4  # masses are written to it, rounded down so that trap and rim still hold [kg]


def load_tables(counter: Counter, state: State) -> dict[str, Any]:
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


def toml_text(tables: Mapping[str, Any]) -> str:
    """Return tables as TOML text: plain values, inner tables, lists of tables.

    tables: as read from TOML
    """
    return "\n".join(_table(tables, "")).strip() + "\n"


def _table(table: Mapping[str, Any], name: str) -> list[str]:
    plain = {key: value for key, value in table.items() if not _nested(value)}
    lines = [f"{_key(key)} = {_value(value)}" for key, value in plain.items()]
    for key, value in table.items():
        full = f"{name}.{_key(key)}" if name else _key(key)
        if isinstance(value, Mapping):
            lines += ["", f"[{full}]", *_table(value, full)]
        elif _nested(value):
            for one in value:
                lines += ["", f"[[{full}]]", *_table(one, full)]
    return lines


def _nested(value: object) -> bool:
    many = isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)
    return isinstance(value, Mapping) or many


def _key(key: str) -> str:
    bare = key.replace("_", "").replace("-", "")
    return key if bare.isascii() and bare.isalnum() else json.dumps(key)


def _value(value: object) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return json.dumps(value)
