"""Forms of own foods and recipes."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from drystow.messages import msg
from drystow.shown import both, quantity
from drystow.units import fahrenheit
from drystow.web.foods.markfields import MarksForm, kinds_field
from drystow.web.foods.models import CLASS_CHOICES, Recipe
from drystow.web.kit.forms import KitchenForm, QuantityField, number_field
from drystow.web.kit.words import later_words

MOST_LINES = 60


def grams(label: Any, needed: bool = False, **options: Any) -> forms.FloatField:
    """Return a field for grams of a nutrition label."""
    return number_field(min_value=0, max_value=10000, required=needed, label=label, **options)


class FoodForm(MarksForm):
    """What every own food has."""

    name = forms.CharField(max_length=120, label=_("Name"))
    food_class = forms.ChoiceField(choices=CLASS_CHOICES, label=_("Kind of food"))
    kinds = kinds_field(_("Choose what it resembles. Leave blank on a new food to go by its name."))
    skin = forms.ChoiceField(
        choices=[("", _("as usual for its kind")), ("yes", _("yes, whole")), ("no", _("no"))],
        required=False,
        label=_("Does a waxy skin cover it?"),
        help_text=_("Such a skin traps vapor, so it has to be cut or pricked."),
    )
    field_order = ("version", "name", "food_class", "kinds", "raw_animal", "allergens", "skin", "notes")
    notes = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}), label=_("Notes"))


class FoodLabelForm(FoodForm):
    """A food from its nutrition label."""

    amount = QuantityField(
        "small mass",
        low=0.001,
        high=10.0,
        label=_("These figures are for"),
        help_text=_("The serving or 100 g, as the label says."),
    )
    energy = number_field(min_value=0, max_value=10000, required=False, label=_("Energy (kcal)"))
    protein = grams(_("Protein (g)"), needed=True)
    fat = grams(_("Fat (g)"), needed=True)
    saturated = grams(_("Saturated fat (g)"))
    carbohydrate = grams(_("Carbohydrate (g)"), needed=True)
    fibre = grams(_("Fiber (g)"))
    sugars = grams(_("Sugars (g)"))
    sodium = number_field(
        min_value=0,
        max_value=100000,
        required=False,
        label=_("Sodium (mg)"),
        help_text=_("If the label lists salt: 1 g of salt is 400 mg of sodium."),
    )
    fibre_apart = forms.BooleanField(
        required=False, label=_("The label counts fiber separately from carbohydrate (European labels do)")
    )
    moisture = QuantityField(
        "fraction",
        low=0.0,
        high=0.999,
        required=False,
        label=_("Measured moisture, if you have it"),
        help_text=_("Share of water in the fresh food. Leave blank to use what the label leaves over."),
    )
    moisture_from = forms.CharField(max_length=200, required=False, label=_("How you measured it"))


class MoistureForm(FoodForm):
    """A food whose moisture was measured; its dry matter is that of a food of the table."""

    like = forms.CharField(
        max_length=200,
        label=_("Its solids are like those of"),
        widget=forms.TextInput(attrs={"list": "like-foods", "autocomplete": "off"}),
        help_text=_("Start typing and choose a food from the list."),
    )
    moisture = QuantityField("fraction", low=0.0, high=0.999, label=_("Measured moisture"), help_text=_("Such as 88%"))
    moisture_sd = QuantityField(
        "fraction", low=0.0, high=0.2, label=_("Give or take"), help_text=_("How far apart two measurements are.")
    )
    moisture_from = forms.CharField(
        max_length=200,
        label=_("How you measured it"),
        help_text=later_words(
            msg(
                "Such as: dried {sample} in the oven until the weight stopped changing.",
                sample=quantity(0.05, "small mass"),
            )
        ),
    )


class RecipeForm(KitchenForm):
    """A recipe without its lines."""

    name = forms.CharField(max_length=120, label=_("Name"))
    use = forms.ChoiceField(choices=Recipe.USES, label=_("Purpose"))
    cooked = forms.BooleanField(
        required=False,
        label=_("All raw meat, poultry, fish, egg and milk in it is cooked through"),
        help_text=later_words(
            msg(
                "Tick only if the middle reaches {heat}. Until you do, raw animal food in the dish "
                "counts as raw and every package says so. Freeze-drying does not kill germs.",
                heat=both(fahrenheit(165.0), "temperature"),
            )
        ),
    )
    final_mass_kg = QuantityField(
        "mass",
        low=0.001,
        high=1000.0,
        required=False,
        label=_("Cooked weight"),
        help_text=_("Weigh the full pot and subtract the empty one. Leave blank if nothing boils away."),
    )
    servings = number_field(min_value=0.1, max_value=10000, label=_("Servings"))
    method = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 5}), label=_("Directions"))
    like = kinds_field(_("Choose what the dish resembles. Leave blank on a new recipe to go by its name."))


class LineForm(KitchenForm):
    """One ingredient; empty lines are left out."""

    food = forms.CharField(
        max_length=200, required=False, label=_("Ingredient"), widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    mass_kg = QuantityField("mass", low=0.0001, high=1000.0, required=False, label=_("Weight"))
