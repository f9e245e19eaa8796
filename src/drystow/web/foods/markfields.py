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
from drystow.web.kit.record_forms import RecordForm
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


class AnswerField(forms.ChoiceField):
    """A mark of a food, which stays open while nobody answers."""

    def from_column(self, mark: bool | None) -> str:
        """Return the answer that stands for a mark."""
        return next(word for word, meaning in ANSWERS.items() if meaning is mark)

    def to_column(self, word: str) -> bool | None:
        """Return the mark that an answer stands for."""
        return ANSWERS[word]


class AllergensField(forms.MultipleChoiceField):
    """The allergens of a food, or that there is none, which stay open while nobody ticks anything."""

    def __init__(self, **options: Any) -> None:
        choices = [*((name, _(name)) for name in ALLERGENS), (NONE, _("none of these"))]
        super().__init__(choices=choices, required=False, widget=forms.CheckboxSelectMultiple, **options)

    def from_column(self, names: Iterable[str]) -> list[str]:
        """Return what is ticked for allergens as they were stated, with `NOT_STATED` while there may be others."""
        return list(known_allergens(names)) if names else [NONE]

    def to_column(self, ticked: list[str]) -> list[str]:
        """Return the allergens that are stated by what is ticked."""
        return [] if ticked == [NONE] else list(in_order(ticked or UNKNOWN))

    def clean(self, value: Any) -> list[str]:
        """Refuse an allergen together with none."""
        ticked: list[str] = super().clean(value)
        if NONE in ticked and len(ticked) > 1:
            raise forms.ValidationError(_("Tick the allergens in it or “none of these”, not both."))
        return ticked


class MarksForm(RecordForm[Any]):
    """The questions about the marks of a food."""

    raw_animal = AnswerField(
        choices=[
            ("", _("not stated")),
            ("yes", _("yes, it must be cooked before eating")),
            ("no", _("no")),
        ],
        required=False,
        label=_("Is it raw meat, poultry, fish, egg or milk?"),
        help_text=_("Until you say, it counts as raw."),
    )
    allergens = AllergensField(
        label=_("Allergens in it"),
        help_text=_("Until you tick something, every label says that its allergens are not stated."),
    )

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        others = [name for name in self.initial.get("allergens", ()) if name not in (*ALLERGENS, NONE)]
        field = self.fields["allergens"]
        assert isinstance(field, AllergensField)
        usual: Any = field.choices
        field.choices = [*usual, *((name, in_words(name)) for name in others)]  # such as a file brought


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


def guessed(row: Any) -> dict[str, Any]:
    """Return what the form of a food shows in the place of what nobody has stated: what its name points to.

    row: with its marks, a name and a kind
    """
    names, guess = list(row.allergens), suggested(row.name, row.food_class)
    shown = {"raw_animal": guess["raw_animal"]} if row.raw_animal is None else {}
    if NOT_STATED in names:
        shown["allergens"] = list(in_order([*known_allergens(names), *guess["allergens"]]))
    return shown
