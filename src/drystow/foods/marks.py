"""What the owner of a food states of it: raw animal food or not, and the allergens in it. It is asked, never guessed.

Every page, label and rule reads the marks through the functions here, so that "nobody has said" never passes for "no".
"""

from collections.abc import Iterable

from drystow.foods.classify import ALLERGENS
from drystow.messages import listed, msg

NOT_STATED = msg("not stated")
"""Stands among the allergens of a food while nobody has said that the others are all."""

UNKNOWN = (NOT_STATED,)
"""Allergens of a food of which nobody has said anything."""

RAW = msg("RAW – COOK BEFORE EATING")
"""On every package of raw animal food."""

MAYBE_RAW = msg("MAY BE RAW – COOK BEFORE EATING")
"""On every package of food of which nobody has said whether it is raw animal food."""

ASK_WHETHER_RAW = msg(
    "No one has said whether this is raw meat, poultry, fish, egg or milk. Treat it as raw "
    "until you have asked whoever made it."
)
"""Stands before every caution on raw food that is given for want of an answer."""

ASK_FOR_ALLERGENS = msg("Allergens: not stated. Ask whoever made it.")


def in_order(names: Iterable[str]) -> tuple[str, ...]:
    """Return allergens once each: those of the law in its order, others by name, `NOT_STATED` last.

    names: allergens, `NOT_STATED` among them where there may be more

    >>> in_order(["wheat", "not stated", "celery", "milk", "wheat"])
    ('milk', 'wheat', 'celery', 'not stated')
    """
    found = set(names)
    others = sorted(found - {*ALLERGENS, NOT_STATED})
    return (*(name for name in ALLERGENS if name in found), *others, *(UNKNOWN if NOT_STATED in found else ()))


def known_allergens(names: Iterable[str]) -> tuple[str, ...]:
    """Return the allergens that were stated; whether they are all is another question.

    names: as a food has them
    """
    return tuple(name for name in names if name != NOT_STATED)


def allergen_line(names: Iterable[str]) -> str:
    """Return the line on allergens for a package or a page, nothing where it is stated that there is none.

    names: as a food has them

    >>> allergen_line(["milk"]), allergen_line(["milk", "not stated"])
    ('Contains: milk', 'Contains: milk. Other allergens: not stated. Ask whoever made it.')
    """
    all_of_them = tuple(names)
    known = known_allergens(all_of_them)
    if NOT_STATED not in all_of_them:
        return msg("Contains: {allergens}", allergens=listed(msg(name) for name in known)) if known else ""
    if not known:
        return ASK_FOR_ALLERGENS
    return msg(
        "Contains: {allergens}. Other allergens: not stated. Ask whoever made it.",
        allergens=listed(msg(name) for name in known),
    )


def may_be_raw(raw_animal: bool | None) -> bool:
    """Return whether food counts as raw: it is, or nobody has said that it is not.

    raw_animal: as stated, None where nobody has
    """
    return raw_animal is not False


def raw_line(raw_animal: bool | None) -> str:
    """Return the line in capitals for a package, nothing where it is stated that the food is not raw.

    raw_animal: as stated, None where nobody has
    """
    return MAYBE_RAW if raw_animal is None else RAW if raw_animal else ""


def raw_cautions(raw_animal: bool | None, cautions: Iterable[str]) -> tuple[str, ...]:
    """Return cautions on raw food where they hold: all for raw food, behind the question where nobody has said.

    raw_animal: as stated, None where nobody has
    cautions: on raw animal food
    """
    if not may_be_raw(raw_animal):
        return ()
    return (ASK_WHETHER_RAW, *cautions) if raw_animal is None else tuple(cautions)


def worst_raw(marks: Iterable[bool | None]) -> bool | None:
    """Return the mark of several foods in one pot: raw when one is, not stated when one is not, else not raw.

    marks: of the foods, as stated
    """
    found = set(marks)
    return True if True in found else None if None in found else False


def raw_tag(raw_animal: bool | None) -> str:
    """Return the short mark of a food in a list, nothing where it is stated that it is not raw.

    raw_animal: as stated, None where nobody has
    """
    return msg("may be raw – cook") if raw_animal is None else msg("raw – cook") if raw_animal else ""


def raw_note(raw_animal: bool | None) -> str:
    """Return one sentence beside a food on a page, nothing where it is stated that it is not raw.

    raw_animal: as stated, None where nobody has
    """
    if raw_animal is None:
        return ASK_WHETHER_RAW
    return msg("Raw animal food: cook before eating, also after drying.") if raw_animal else ""
