"""Which foods should not share a chamber, and which belong on the lower trays."""

from collections.abc import Sequence
from dataclasses import dataclass

from drystow.fields import Fields
from drystow.foods.kinds import is_a, of_relatives
from drystow.foods.marks import known_allergens
from drystow.foods.model import Food
from drystow.messages import listed, msg

RULES = ("germs", "smells", "allergens", "colours")
"""Rules that can be asked for: raw away from ready-to-eat, smells, allergens; colours only order the trays."""

WRITTEN = {"colors": "colours"}
"""How a rule is written in files now -> its name here and in older files."""

USUAL = ("germs", "smells", "colours")
"""Rules that hold when nothing is written; foods with different allergens are told of, not parted."""


def read_apart(rules: Fields) -> tuple[str, ...]:
    """Return the rules that are written under ``apart``, those of `USUAL` when nothing is written.

    rules: table of the file
    """
    if not rules.has("apart"):
        return USUAL
    apart = tuple(WRITTEN.get(name, name) for name in rules.texts("apart", len(RULES)))
    for name in apart:
        if name not in RULES:
            known = ", ".join(f"'{name}'" for name in (*RULES[:-1], *WRITTEN))
            rules.problem("apart", msg("'{name}' is not a rule; write some of {rules}", name=name, rules=known))
    return apart


@dataclass(frozen=True)
class Clash:
    """Two foods that may not be in one chamber.

    rule: germs, smells or allergens
    words: one sentence
    """

    rule: str
    words: str


def smells(food: Food) -> bool:
    """Return whether a food smells so strongly that others take it on.

    food: the food
    """
    return is_a(food.food_class, "smells") or bool(of_relatives("strong", food.food_class, food.like))


def takes_smell(food: Food) -> bool:
    """Return whether a food takes on the smell of its neighbours.

    food: the food
    """
    return is_a(food.food_class, "takes-smell") and not smells(food)


def stains(food: Food) -> bool:
    """Return whether juice or dust of a food colours what lies below.

    food: the food
    """
    return bool(of_relatives("stains", food.food_class, food.like))


def depth(food: Food) -> int:
    """Return how low a food belongs: 0 on top, 1 what stains, 2 what is or may be raw animal food at the bottom.

    food: the food
    """
    return 2 if food.may_be_raw else int(stains(food))


def clash(one: Food, other: Food, rules: Sequence[str] = USUAL) -> Clash | None:
    """Return why two foods may not be in one chamber, None when they may.

    one: a food
    other: another
    rules: of `RULES`, those that hold
    """
    if "germs" in rules and one.raw_animal is not other.raw_animal:
        if None in (one.raw_animal, other.raw_animal):
            return Clash("germs", _not_stated(one, other))
        raw, ready = (one, other) if one.raw_animal is True else (other, one)
        return Clash(
            "germs",
            msg(
                "{raw} is raw and {ready} is ready to eat: germs survive freeze-drying and spread as "
                "dust, so they go in separate batches",
                raw=raw.name,
                ready=ready.name,
            ),
        )
    if "smells" in rules:
        for strong, mild in ((one, other), (other, one)):
            if smells(strong) and takes_smell(mild):
                words = msg(
                    "{strong} scents the whole chamber and {mild} picks it up: separate batches",
                    strong=strong.name,
                    mild=mild.name,
                )
                return Clash("smells", words)
    if "allergens" in rules and one != other and not (one.allergens_stated and other.allergens_stated):
        unsure = dict.fromkeys(food.name for food in (one, other) if not food.allergens_stated)
        words = msg(
            "no one has said which allergens {unsure} may contain, so {one} and {other} go into separate batches",
            unsure=listed(unsure),
            one=one.name,
            other=other.name,
        )
        return Clash("allergens", words)
    if "allergens" in rules and (differ := _allergens_apart(one, other)):
        words = msg(
            "{one} and {other} differ in allergens ({allergens}), so they go in separate batches",
            one=one.name,
            other=other.name,
            allergens=listed(msg(name) for name in differ),
        )
        return Clash("allergens", words)
    return None


def cautions(foods: Sequence[Food]) -> tuple[str, ...]:
    """Return what to mind when foods share a chamber although no rule parts them.

    foods: those in the chamber
    """
    found: list[str] = []
    unsure = dict.fromkeys(food.name for food in foods if food.raw_animal is None)
    if unsure:
        found.append(
            msg(
                "may be raw animal food: {foods}. Until you have asked whoever made it, treat it as raw. "
                "Use the lowest trays, keep it apart from ready-to-eat food, and cook it before eating",
                foods=listed(unsure),
            )
        )
    raw = [food.name for food in foods if food.raw_animal is True]
    if raw:
        found.append(
            msg(
                "raw, and still raw after drying: {foods}. Use the lowest trays, cook before eating, "
                "then wash and disinfect trays and chamber; follow your local food safety agency",
                foods=listed(dict.fromkeys(raw)),
            )
        )
    open_question = dict.fromkeys(food.name for food in foods if not food.allergens_stated)
    if open_question:
        words = msg(
            "allergens not stated: {foods}. Ask whoever made it; until then assume that it and its "
            "dust contain all of them",
            foods=listed(open_question),
        )
        found.append(words)
    for allergen in dict.fromkeys(name for food in foods for name in known_allergens(food.allergens)):
        having = dict.fromkeys(food.name for food in foods if allergen in food.allergens)
        without = dict.fromkeys(food.name for food in foods if allergen not in food.allergens)
        if without:
            words = msg(
                "{allergen} ({having}) can get into {without} as dust. For someone with this allergy, "
                "dry these apart; otherwise write 'may contain' on the label",
                allergen=msg(allergen),
                having=listed(having),
                without=listed(without),
            )
            found.append(words)
    return tuple(found)


def _not_stated(one: Food, other: Food) -> str:
    unsure, sure = (one, other) if one.raw_animal is None else (other, one)
    return msg(
        "no one has said whether {unsure} is raw animal food, so it stays out of the batch with "
        "{sure} until someone does",
        unsure=unsure.name,
        sure=sure.name,
    )


def _allergens_apart(one: Food, other: Food) -> list[str]:
    return sorted(set(one.allergens) ^ set(other.allergens))
