"""The table of generic foods: find by a few words, get by id or name."""

import gzip
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from drystow.errors import InputError
from drystow.foods.model import Composition, Food
from drystow.foods.search import Index, build_index, search
from drystow.messages import msg

NUTRIENTS = {
    # our key: columns of the source, first filled one wins
    "energy_kcal": ("Energy",),
    "protein_g": ("Protein",),
    "fat_g": ("Total fat",),
    "saturated_g": ("Fatty acids, total saturated",),
    "carbohydrate_g": ("Carbohydrate",),
    "fibre_g": ("Fiber", "Fiber (AOAC 2011.25)"),
    "sugars_g": ("Total Sugars", "Sugars, Total"),
    "cholesterol_mg": ("Cholesterol",),
    "sodium_mg": ("Sodium",),
    "potassium_mg": ("Potassium",),
    "calcium_mg": ("Calcium",),
    "iron_mg": ("Iron",),
    "magnesium_mg": ("Magnesium",),
    "phosphorus_mg": ("Phosphorus",),
    "zinc_mg": ("Zinc",),
    "copper_mg": ("Copper",),
    "selenium_ug": ("Selenium",),
    "vitamin_a_ug": ("Vitamin A, RAE",),
    "vitamin_c_mg": ("Vitamin C",),
    "vitamin_d_ug": ("Vitamin D (D2 + D3)",),
    "vitamin_e_mg": ("Vitamin E",),
    "vitamin_k_ug": ("Vitamin K1",),
    "thiamin_mg": ("Thiamin",),
    "riboflavin_mg": ("Riboflavin",),
    "niacin_mg": ("Niacin",),
    "vitamin_b6_mg": ("Vitamin B-6",),
    "folate_ug": ("Folate, total",),
    "vitamin_b12_ug": ("Vitamin B-12",),
    "choline_mg": ("Choline",),
}
"""Nutrients kept per 100 g; carbohydrate includes fibre. The unit ends the key."""

FRACTIONS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash", "sugars", "salt", "water_sd", "sugars_sd")
LABELS = (
    "id",
    "name",
    "origin",
    "category",
    "food_class",
    "like",
    "raw_animal",
    "allergens",
    "portion",
    "portion_words",
)
COLUMNS = (*LABELS, *FRACTIONS, *NUTRIENTS)


@dataclass(frozen=True)
class _Table:
    """The file, split into lines but not further: rows become foods when somebody asks."""

    lines: list[str]
    by_id: dict[str, int]
    by_name: dict[str, int]
    names: list[str]


@cache
def _table() -> _Table:
    packed = (Path(__file__).parent / "table.csv.gz").read_bytes()
    lines = gzip.decompress(packed).decode().splitlines()
    assert lines[0] == "\t".join(COLUMNS), "table.csv.gz does not fit this version; rebuild it"
    lines = lines[1:]
    firsts = [line.split("\t", 2) for line in lines]
    names = [first[1] for first in firsts]
    by_id = {first[0]: row for row, first in enumerate(firsts)}
    by_name = {name.lower(): row for row, name in enumerate(names)}
    return _Table(lines, by_id, by_name, names)


@cache
def _index() -> Index:
    return build_index(_table().names)


@cache
def _food(row: int) -> Food:
    cell = dict(zip(COLUMNS, _table().lines[row].split("\t"), strict=True))
    return Food(
        id=cell["id"],
        name=cell["name"],
        food_class=cell["food_class"],
        composition=Composition(**{name: float(cell[name] or 0.0) for name in FRACTIONS}),
        like=tuple(cell["like"].split(";")) if cell["like"] else (),
        category=cell["category"],
        raw_animal=cell["raw_animal"] == "1",
        allergens=tuple(cell["allergens"].split(";")) if cell["allergens"] else (),
        # carbohydrate by difference comes out a little below nothing for some meat; there is none in it
        nutrients={key: max(float(cell[key]), 0.0) for key in NUTRIENTS if cell[key]},
        portion=(cell["portion_words"], float(cell["portion"]) / 1000) if cell["portion"] else None,
    )


def every() -> list[Food]:
    """Return all foods of the table, in the order of their names."""
    return [_food(row) for row in range(len(_table().lines))]


def find(text: str, limit: int = 10, *, own: Iterable[Food] = ()) -> list[Food]:
    """Return the foods that `text` most likely means, best first; small typing errors are forgiven.

    text: a few words, in any order
    limit: how many at most
    own: foods of the user, searched too and listed before table foods that fit equally well

    >>> [food.name for food in find("blubery", 1)]
    ['Blueberries, raw']
    """
    mine = list(own)
    if not mine:
        return [_food(row) for row in search(text, _index(), limit)]
    candidates = mine + [_food(row) for row in search(text, _index(), limit)]
    joint = build_index([food.name for food in candidates])
    return [candidates[row] for row in search(text, joint, limit, favoured=len(mine))]


def get(id_or_name: str, *, own: Iterable[Food] = ()) -> Food:
    """Return the food with this id or this exact name (capitals do not matter).

    id_or_name: ``f00123`` or ``Blueberries, raw``
    own: foods of the user, looked up first

    >>> get("blueberries, raw").food_class
    'fruit'
    """
    wanted = " ".join(id_or_name.lower().split())
    mine = list(own)
    for food in mine:
        if wanted in (food.id.lower(), food.name.lower()):
            return food
    table = _table()
    row = table.by_id.get(wanted, table.by_name.get(wanted))
    if row is not None:
        return _food(row)
    near = find(id_or_name, 3, own=mine)
    if not near:
        raise InputError(
            "food", msg("there is no food called '{name}'; search for one plain word such as 'carrot'", name=id_or_name)
        )
    names = ", ".join(f"'{food.name}'" for food in near)
    raise InputError("food", msg("there is no food called '{name}'; closest: {names}", name=id_or_name, names=names))
