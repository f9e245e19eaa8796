"""A food and what it is made of."""

from dataclasses import dataclass, field, replace
from typing import Any

from drystow.errors import InputError, unknown
from drystow.foods.kinds import class_rows, in_order, relative_rows
from drystow.foods.marks import NOT_STATED, UNKNOWN, may_be_raw
from drystow.messages import Message, msg

FOOD_CLASSES = tuple(class_rows())
"""Classes that choose default values where a food has none of its own; classes.toml has a row for each."""


def not_a_class(name: str) -> Message:
    """Return the sentence for a class of food that does not exist.

    name: what was written
    """
    return msg("'{name}' is not a food class; the classes are {classes}", name=name, classes=", ".join(FOOD_CLASSES))


PARTS = ("water", "protein", "fat", "carbohydrate", "fibre", "ash", "alcohol")

PART_WORDS: dict[str, str] = {"fibre": msg("fiber")}
"""Names that readers see where a part is called otherwise in files."""


def part_word(part: str) -> str:
    """Return the name of a part of a food for a reader.

    part: a part of a `Composition`

    >>> part_word("fibre"), part_word("salt")
    ('fiber', 'salt')
    """
    return PART_WORDS.get(part, part)


@dataclass(frozen=True)
class Composition:
    """Mass fractions of a food, wet basis; the parts add up to one.

    water: water [-]
    protein: protein [-]
    fat: fat [-]
    carbohydrate: carbohydrate without fibre [-]
    fibre: dietary fibre [-]
    ash: minerals [-]
    alcohol: ethanol [-]
    sugars: sugars, a part of carbohydrate [-]
    salt: sodium chloride equivalent, a part of ash [-]
    water_sd: standard deviation of the water fraction [-]
    sugars_sd: standard deviation of the sugars where nobody measured them; 0 where somebody did [-]
    """

    water: float
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0
    alcohol: float = 0.0
    sugars: float = 0.0
    salt: float = 0.0
    water_sd: float = 0.01
    sugars_sd: float = 0.0

    def __post_init__(self) -> None:
        for name in (*PARTS, "sugars", "salt", "water_sd", "sugars_sd"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1.0:
                raise InputError(
                    name,
                    msg(
                        "{value:g} is not a share of the weight; write a number from 0 to 1 or a percentage",
                        value=value,
                    ),
                )
        total = sum(getattr(self, name) for name in PARTS)
        if abs(total - 1.0) > 0.005:
            raise InputError(
                "composition",
                msg(
                    "the parts add up to {total:.3f}, not 1; the parts are {parts}",
                    total=total,
                    parts=", ".join(PARTS),
                ),
            )

    @property
    def solids(self) -> float:
        """Everything that is not water or alcohol [-]."""
        return 1.0 - self.water - self.alcohol

    def with_water(self, water: float) -> "Composition":
        """Return the same solids with another water fraction [-]; a part that rounding lifts above 1 is all of it."""
        scale = (1.0 - water) / (1.0 - self.water) if self.water < 1.0 else 0.0
        scaled: dict[str, Any] = {
            name: min(getattr(self, name) * scale, 1.0) for name in (*PARTS[1:], "sugars", "salt", "sugars_sd")
        }
        return replace(self, water=water, **scaled)


@dataclass(frozen=True)
class Food:
    """A food of the table or of the user.

    id: stable identifier (``f00001`` for the table, any slug for own foods)
    name: name as searched and printed
    food_class: one of `FOOD_CLASSES`
    composition: what it is made of
    like: kinds of food that it behaves like, keys of relatives.toml; with class and composition they settle its physics
    category: group name in the source table
    raw_animal: raw meat, poultry, fish, egg or milk, as its owner or the table says; None: nobody has stated it
    allergens: as its owner states them, or as its name and kind in the table point to, to be confirmed;
        `marks.NOT_STATED` among them while there may be others
    skin: a whole waxy skin holds its vapor back, as stated; None: as the kinds that it is like have it
    nutrients: per 100 g, keyed like ``energy_kcal``, ``protein_g``, ``sodium_mg``
    portion: mass of a customary portion, with its words, or None
    own: entered by the user
    source: key in sources.toml
    """

    id: str
    name: str
    food_class: str
    composition: Composition
    like: tuple[str, ...] = ()
    category: str = ""
    raw_animal: bool | None = None
    allergens: tuple[str, ...] = UNKNOWN
    skin: bool | None = None
    nutrients: dict[str, float] = field(default_factory=dict)
    portion: tuple[str, float] | None = None
    own: bool = False
    source: str = "usda-fdc"

    def __post_init__(self) -> None:
        if self.food_class not in FOOD_CLASSES:
            raise InputError("class", not_a_class(self.food_class))
        for kind in self.like:
            if kind not in relative_rows():
                raise unknown("like", kind, relative_rows(), msg("kind of food"))
        object.__setattr__(self, "like", in_order(self.like))

    @property
    def may_be_raw(self) -> bool:
        """It is raw animal food, or nobody has stated that it is not: it counts as raw."""
        return may_be_raw(self.raw_animal)

    @property
    def allergens_stated(self) -> bool:
        """Somebody has said that its allergens are all."""
        return NOT_STATED not in self.allergens
