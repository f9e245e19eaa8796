"""From the rows of foods and recipes to the engine's foods."""

from collections.abc import Iterable
from dataclasses import replace

from drystow.errors import InputError
from drystow.foods import recipe as pots
from drystow.foods import table
from drystow.foods.classify import read_like, written_like
from drystow.foods.kinds import in_order
from drystow.foods.model import Composition, Food
from drystow.foods.written import FRACTIONS
from drystow.messages import msg
from drystow.numerals import whole_in
from drystow.properties.suitability import will_not_dry
from drystow.web.foods.models import OwnFood, Recipe


def foods_of(refs: Iterable[str], *, only_good: bool = False) -> dict[str, Food]:
    """Return foods by their references, with at most three queries, and two more for each depth of
    recipes that other recipes use.

    refs: ``f00503`` of the table, ``own:3`` or ``recipe:2``
    only_good: leave out recipes that do not work out, such as one without ingredients, in place of an error
    """
    wanted = set(refs)
    recipes = _recipes(wanted)
    lines = [line.food for row in recipes.values() for line in row.lines.all()]
    own = OwnFood.objects.in_bulk(_numbers({*wanted, *lines}, "own"))
    simple = {ref: _simple(ref, own) for ref in {*wanted, *lines} if not ref.startswith("recipe:")}
    dishes = {}
    for ref in wanted:
        if ref.startswith("recipe:"):
            try:
                dishes[ref] = _dish(ref, recipes, simple)
            except InputError:
                if not only_good:
                    raise
    return simple | dishes


def alike(food: Food, like: str | None) -> Food:
    """Return a food of the table as it behaves by what a person wrote; one's own food says that itself.

    food: what it is
    like: class and kinds, as files write them, or None
    """
    if food.own or not like:
        return food
    food_class, kinds = read_like([" ".join(word.lower().split()) for word in like.split(",")])
    return replace(food, food_class=food_class, like=kinds)


def like_of(food: Food) -> dict[str, str]:
    """Return what a food of the table was said to be like, where that is not what the table says, for `alike`.

    food: as a file has it
    """
    if food.own:
        return {}
    listed = table.get(food.id)
    same = (food.food_class, food.like) == (listed.food_class, listed.like)
    return {} if same else {"like": written_like(food.food_class, food.like)}


def _recipes(refs: Iterable[str]) -> dict[int, Recipe]:
    """Return the recipes among references, and those that they use."""
    found: dict[int, Recipe] = {}
    missing = set(_numbers(refs, "recipe"))
    while missing:
        rows = list(Recipe.objects.filter(pk__in=missing).prefetch_related("lines"))
        found |= {row.pk: row for row in rows}
        missing = set(_numbers((line.food for row in rows for line in row.lines.all()), "recipe")) - found.keys()
    return found


def food_of(ref: str) -> Food:
    """Return one food by its reference: ``f00503``, ``own:3`` or ``recipe:2``."""
    return foods_of([ref])[ref]


def _numbers(refs: Iterable[str], kind: str) -> list[int]:
    numbers = (whole_in(ref.partition(":")[2]) for ref in refs if ref.partition(":")[0] == kind)
    return [number for number in numbers if number is not None]


def check_it_dries(ref: str) -> None:
    """Raise `InputError` when a food has nothing to freeze-dry: why, and what to do instead.

    ref: of the food
    """
    if (against := will_not_dry(food_of(ref))) is not None:
        raise InputError("food", against)


def _simple(ref: str, own: dict[int, OwnFood]) -> Food:
    if not ref.startswith("own:"):
        return table.get(ref)
    number = ref.removeprefix("own:")
    row = own.get(whole_in(number) or 0)
    if row is None:
        raise InputError("food", msg("you have no food number {number}; choose another food", number=number))
    fractions = {name: float(row.composition[name]) for name in FRACTIONS if name in row.composition}
    return Food(
        id=ref,
        name=row.name,
        food_class=row.food_class,
        composition=Composition(**fractions, water_sd=row.moisture_sd),
        like=in_order(row.like),
        raw_animal=row.raw_animal,
        allergens=tuple(row.allergens),
        skin=row.skin,
        nutrients={name: float(value) for name, value in row.nutrients.items() if value is not None},
        own=True,
        source="own-measurement",
    )


def _dish(ref: str, recipes: dict[int, Recipe], simple: dict[str, Food], above: tuple[str, ...] = ()) -> Food:
    number = ref.removeprefix("recipe:")
    row = recipes.get(whole_in(number) or 0)
    if row is None:
        raise InputError("food", msg("there is no recipe number {number}; choose another food", number=number))
    if ref in above:
        raise InputError(
            "food", msg("the recipe {name} contains itself; take it out of its ingredients", name=row.name)
        )
    ingredients = tuple(
        pots.Ingredient(simple.get(line.food) or _dish(line.food, recipes, simple, (*above, ref)), line.mass_kg)
        for line in row.lines.all()
    )
    made = pots.prepare(
        pots.RecipeSpec(row.name, ingredients, final_mass=row.final_mass_kg, cooked=row.cooked, like=in_order(row.like))
    )
    return replace(made, id=ref)
