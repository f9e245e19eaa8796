"""The questions about the marks of a food: raw animal food or not, which allergens. What nobody answers stays open."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drystow.foods import classify
from drystow.foods.classify import ALLERGENS
from drystow.foods.kinds import relative_rows
from drystow.foods.marks import NOT_STATED, UNKNOWN, in_order, known_allergens
from drystow.foods.model import FOOD_CLASSES, Food
from drystow.web.kit.forms import KitchenForm
from drystow.web.kit.words import in_words

NONE = "none"
"""Ticked when there is no allergen in it."""

ANSWERS: dict[str, bool | None] = {"": None, "yes": True, "no": False}


def kinds_by_class() -> list[tuple[Any, list[tuple[str, Any]]]]:
    """Return the kinds of food as choices of a form: by their classes, what was done to it first."""
    rows = relative_rows()
    classes = [
        food_class for food_class in FOOD_CLASSES if any(row.get("class") == food_class for row in rows.values())
    ]
    return [
        (
            _(food_class) if food_class else _("what was done to it"),
            [(kind, _(kind)) for kind, row in rows.items() if row.get("class", "") == food_class],
        )
        for food_class in ("", *classes)
    ]


def kinds_field(help_text: Any) -> forms.MultipleChoiceField:
    """Return the question about the kinds of food that something behaves like.

    help_text: what an empty answer means
    """
    return forms.MultipleChoiceField(
        choices=kinds_by_class(),
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 8}),
        label=_("Behaves like"),
        help_text=help_text,
    )


class MarksForm(KitchenForm):
    """The questions about the marks of a food."""

    raw_animal = forms.ChoiceField(
        choices=[
            ("", _("not stated")),
            ("yes", _("yes, it must be cooked before eating")),
            ("no", _("no")),
        ],
        required=False,
        label=_("Is it raw meat, poultry, fish, egg or milk?"),
        help_text=_("Until you say, it counts as raw."),
    )
    allergens = forms.MultipleChoiceField(
        choices=[*((name, _(name)) for name in ALLERGENS), (NONE, _("none of these"))],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=_("Allergens in it"),
        help_text=_("Until you tick something, every label says that its allergens are not stated."),
    )

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        others = [name for name in self.initial.get("allergens", ()) if name not in (*ALLERGENS, NONE)]
        field = self.fields["allergens"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [*field.choices, *((name, in_words(name)) for name in others)]  # such as a file brought

    def clean_allergens(self) -> list[str]:
        """Refuse an allergen together with none."""
        ticked: list[str] = self.cleaned_data["allergens"]
        if NONE in ticked and len(ticked) > 1:
            raise forms.ValidationError(_("Tick the allergens in it or “none of these”, not both."))
        return ticked


def stated(data: dict[str, Any]) -> dict[str, Any]:
    """Return the marks that a person stated, as values of a row.

    data: cleaned values of `MarksForm`
    """
    ticked = data["allergens"]
    names = [] if ticked == [NONE] else list(in_order(ticked or UNKNOWN))
    return {"raw_animal": ANSWERS[data["raw_animal"]], "allergens": names}


def answers(raw_animal: bool | None, allergens: Iterable[str]) -> dict[str, Any]:
    """Return what the form shows for marks that were stated before.

    raw_animal: as stated, None where nobody has
    allergens: with `NOT_STATED` while there may be others
    """
    names = list(allergens)
    ticked = list(known_allergens(names)) if names else [NONE]
    return {"raw_animal": answer_word(raw_animal), "allergens": ticked}


def answer_word(mark: bool | None) -> str:
    """Return the answer of the form that stands for a mark.

    mark: as stated, None where nobody has
    """
    return next(word for word, meaning in ANSWERS.items() if meaning is mark)


def suggested(name: str, food_class: str) -> dict[str, Any]:
    """Return what a name points to, ticked beforehand: only what makes careful, for the owner to check.

    name: of the food
    food_class: its kind
    """
    raw = "yes" if classify.is_raw_animal(name, food_class) else ""
    return {"raw_animal": raw, "allergens": list(classify.allergens(name, food_class))}


def careful(food: Food) -> dict[str, Any]:
    """Return what the form shows for a food like another: its marks, but never that there are none.

    food: the other
    """
    return {"raw_animal": "yes" if food.raw_animal is True else "", "allergens": list(known_allergens(food.allergens))}


def first_answers(name: str, food_class: str, raw_animal: bool | None, allergens: Iterable[str]) -> dict[str, Any]:
    """Return what the form shows for an own food: what was stated, and where nothing was, what its name points to.

    name: of the food
    food_class: its kind
    raw_animal, allergens: as stated
    """
    names = list(allergens)
    known, guessed = answers(raw_animal, names), suggested(name, food_class)
    if raw_animal is None:
        known["raw_animal"] = guessed["raw_animal"]
    if NOT_STATED in names:
        known["allergens"] = list(in_order([*known["allergens"], *guessed["allergens"]]))
    return known
