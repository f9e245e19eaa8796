"""Forms of the searches for one batch: what is wished for."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.errors import InputError
from drystow.messages import msg
from drystow.planning.program.best_program import CONFIDENCE, MOST_STEPS
from drystow.planning.program.verifying import CONFIDENCES
from drystow.planning.separation import USUAL
from drystow.shown import show
from drystow.units import celsius, kelvin
from drystow.web.batches.models import Item
from drystow.web.kit.forms import KitchenForm, QuantityField, asked_field, money_field
from drystow.web.kit.saving import tell

HOUR = 3600.0
USUAL_TIME = 30 * HOUR  # wished for when there is no forecast; drystow-default
APART = ("smells", "allergens", "colours")
SURE = {
    0.8: lazy("in 8 of 10 simulated runs"),
    0.9: lazy("in 9 of 10 simulated runs"),
    0.95: lazy("in 19 of 20 simulated runs"),
    0.99: lazy("in 99 of 100 simulated runs"),
}
NAMES = {"size": "thin", "sizes": "thin", "thinnest": "thin", "thickest": "thick"}
"""Fields of a counter -> fields of `FoodWishForm`."""


class LoadWishesForm(KitchenForm):
    """What is wished of a load."""

    time = asked_field(
        "basket",
        "time",
        label=lazy("Time you have"),
        help_text=lazy("Freezing included, such as 30 h."),
    )
    share = forms.TypedChoiceField(
        choices=((1, lazy("one food to a tray")), (2, lazy("up to two foods side by side")),
                 (3, lazy("up to three foods side by side"))),
        coerce=int, label=lazy("Trays"),
    )  # fmt: skip
    smells = forms.BooleanField(required=False, label=lazy("Keep strong smells away from foods that pick them up"))
    colours = forms.BooleanField(required=False, label=lazy("Keep foods that stain lower, on their own trays"))
    allergens = forms.BooleanField(required=False, label=lazy("Keep foods with different allergens apart"))


class FoodWishForm(KitchenForm):
    """What is wished of one food of the basket."""

    must = forms.BooleanField(required=False, label=lazy("All of it must go in"))
    thin = asked_field("basket.food", "thinnest", required=False, label=lazy("Cut from"))
    thick = asked_field("basket.food", "thickest", required=False, label=lazy("to"))
    value = money_field(required=False, min_value=0, max_value=1e6, label=lazy("Worth"))

    def __init__(self, *arguments: Any, item: Item, **options: Any) -> None:
        self.item = item  # first, since the base looks for errors at once
        super().__init__(*arguments, prefix=f"food{item.pk}", **options)
        for name in ("thin", "thick"):
            self.fields[name].widget.attrs["placeholder"] = show(float(item.size_m), "length", self.units)

    def clean(self) -> dict[str, Any]:
        """Return the data when the thickest cut is not thinner than the thinnest; one alone counts from its own cut."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        thin, thick = data.get("thin"), data.get("thick")
        if (thin is not None or thick is not None) and not self.errors:
            data["thin"] = self.item.size_m if thin is None else thin
            data["thick"] = self.item.size_m if thick is None else thick
            if data["thick"] < data["thin"]:
                self.add_error("thick", _("This is thinner than the thinnest; swap the two."))
        return data

    def wish(self) -> dict[str, Any]:
        """Return the wish as it is kept."""
        data = self.cleaned_data
        cut = None if data["thin"] is None else [data["thin"], data["thick"]]
        return {"must": data["must"], "cut_m": cut, "value": 1.0 if data["value"] is None else data["value"]}


class ProgramWishesForm(KitchenForm):
    """What is wished of a program."""

    confidence = forms.TypedChoiceField(
        choices=tuple((level, SURE[level]) for level in CONFIDENCES),
        coerce=float, initial=CONFIDENCE, label=lazy("The ice must stay cool enough"),
    )  # fmt: skip
    steps = forms.TypedChoiceField(
        choices=tuple((count, str(count)) for count in range(1, 5)),
        coerce=int, initial=MOST_STEPS, label=lazy("Most steps"),
    )  # fmt: skip
    highest = QuantityField(
        "temperature", low=253.15, high=423.15, required=False, label=lazy("Warmest shelf"),
        help_text=lazy("Leave blank for as warm as the dryer goes."),
    )  # fmt: skip

    def wishes(self) -> dict[str, Any]:
        """Return the wishes as they are kept."""
        data = self.cleaned_data
        highest = None if data["highest"] is None else round(celsius(data["highest"]), 2)
        return {"confidence": data["confidence"], "steps": data["steps"], "highest_c": highest}


def load_initial(asked: Mapping[str, Any], time: float) -> dict[str, Any]:
    """Return what the form shows at first.

    asked: last wishes, empty when there are none
    time: that the load as it lies takes [s]
    """
    apart = asked.get("apart", USUAL)
    return {
        "time": float(asked["time_h"] * HOUR if "time_h" in asked else time),
        "share": asked.get("share", 1),
        **{rule: rule in apart for rule in APART},
    }


def food_initial(asked: Mapping[str, Any], item: Item) -> dict[str, Any]:
    """Return what the form of a food shows at first."""
    wish = asked.get("foods", {}).get(str(item.pk), {})
    thin, thick = wish.get("cut_m") or (None, None)
    value = wish.get("value", 1.0)
    return {"must": wish.get("must", False), "thin": thin, "thick": thick, "value": None if value == 1.0 else value}


def program_initial(asked: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the form shows of the last wishes."""
    if not asked:
        return {}
    highest = asked["highest_c"]
    return {**asked, "highest": None if highest is None else kelvin(highest)}


def load_wishes(form: LoadWishesForm, foods: Sequence[FoodWishForm]) -> dict[str, Any]:
    """Return the wishes of valid forms as they are kept."""
    data = form.cleaned_data
    return {
        "time_h": round(data["time"] / HOUR, 4),
        "share": data["share"],
        "apart": [rule for rule in APART if data[rule]],
        "foods": {str(one.item.pk): one.wish() for one in foods},
    }


def tell_refusal(form: LoadWishesForm, foods: Sequence[FoodWishForm], problem: InputError) -> None:
    """Put an error of the engine beside the field that it speaks of, else above the form."""
    head, _dot, name = problem.field.partition(".")
    number = head.removeprefix("food[").removesuffix("]")
    if not number.isdecimal() or not 1 <= int(number) <= len(foods):
        tell(form, problem, {"rules.share_trays": "share"})
        return
    one = foods[int(number) - 1]
    if NAMES.get(name) in one.fields:
        tell(one, InputError(name, problem.message), NAMES)
    else:
        words = msg("{food}: {words}", food=one.item.name, words=problem.message)
        tell(form, InputError("", words))
