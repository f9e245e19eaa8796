"""Food that waited longer than it keeps: raw animal food is not used any more, plants are looked at."""

from drystow.foods.model import Food
from drystow.messages import Message, msg
from drystow.planning.schedule.cold_storage import judged_by_eye

DO_NOT_USE, LOOK = "do_not_use", "look_and_decide"
"""Verdicts on food past its limit."""

WORDS = {
    DO_NOT_USE: msg("waited too long: do not use it"),
    LOOK: msg("waited too long: look at it and decide"),
}
"""Verdicts as they stand beside the food."""


def verdict_on(food: Food) -> str:
    """Return what is to be done with a food past its limit; what is not surely a plant is not used any more.

    food: what it is
    """
    return LOOK if judged_by_eye(food) else DO_NOT_USE


def verdict_words(verdict: str) -> Message:
    """Return a verdict as it stands beside the food.

    verdict: one of `DO_NOT_USE` and `LOOK`
    """
    return WORDS.get(verdict, WORDS[DO_NOT_USE])


def too_old_words(name: str, until: str, verdict: str) -> Message:
    """Return that a lot waited too long, and what is to be done with it.

    name: of the lot
    until: when it would have had to be dried or frozen, as a date
    verdict: one of those on food past its limit
    """
    if verdict == LOOK:
        return msg(
            "{name}: look at it and decide. It waited too long; it had to be dried or frozen by {until}",
            name=name,
            until=until,
        )
    return msg(
        "{name}: do not use it. It waited too long; it had to be dried or frozen by {until}", name=name, until=until
    )
