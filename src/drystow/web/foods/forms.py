"""Forms of own foods and recipes."""

from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as translated
from django.utils.translation import gettext_lazy as _

from drystow.errors import InputError
from drystow.foods import recipe as pots
from drystow.foods.model import Food
from drystow.foods.table import get
from drystow.messages import msg
from drystow.shown import both, quantity
from drystow.units import fahrenheit
from drystow.web.foods.adapters import named, own_foods, search
from drystow.web.foods.markfields import AnswerField, MarksForm, guessed, kinds_field
from drystow.web.foods.models import CLASS_CHOICES, OwnFood, Recipe
from drystow.web.foods.own_entry import label_start, values_from_label, values_from_moisture
from drystow.web.kit.forms import KitchenForm, QuantityField, number_field, stored
from drystow.web.kit.record_forms import RecordForm
from drystow.web.kit.words import in_words, later_words

MOST_LINES, SPARE_LINES = 60, 4


def grams(label: Any, needed: bool = False, **options: Any) -> forms.FloatField:
    """Return a field for grams of a nutrition label."""
    return number_field(min_value=0, max_value=10000, required=needed, label=label, **options)


class FoodForm(MarksForm):
    """What every own food has, beside the figures that its composition follows from."""

    model = OwnFood
    engine_names: ClassVar = {"class": "food_class", "food": "like"}
    way: ClassVar[str]

    name = forms.CharField(max_length=120, label=_("Name"))
    food_class = forms.ChoiceField(choices=CLASS_CHOICES, label=_("Kind of food"))
    kinds = stored("like", kinds_field(_("Choose what it resembles. Leave blank on a new food to go by its name.")))
    skin = AnswerField(
        choices=[("", _("as usual for its kind")), ("yes", _("yes, whole")), ("no", _("no"))],
        required=False,
        label=_("Does a waxy skin cover it?"),
        help_text=_("Such a skin traps vapor, so it has to be cut or pricked."),
    )
    field_order = ("version", "name", "food_class", "kinds", "raw_animal", "allergens", "skin", "notes")
    notes = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 3}), label=_("Notes"))

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        if not self.new:
            self.initial |= guessed(self.seen)

    @property
    def figures(self) -> list[str]:
        """Return the fields of measured and labeled figures."""
        return [name for name in self.fields if name not in FoodForm.base_fields]

    @property
    def columns(self) -> dict[str, str]:
        """Return the fields that hold a column; what follows from the figures is worked out."""
        return {name: column for name, column in super().columns.items() if name not in self.figures}

    def start(self, row: OwnFood) -> dict[str, Any]:
        """Return what the form shows of a food: its figures as they were typed, else what its parts come to."""
        if row.pk is None:
            return super().start(row)
        typed = row.entered.get("typed")
        return (label_start(row) if typed is None else typed) | super().start(row)

    def changes(self) -> dict[str, Any]:
        """Return the columns to write; parts whose figures nobody touched stay exactly as they are."""
        data, changes = self.cleaned_data, super().changes()
        if self.new:
            changes["like"] = data["kinds"] or self.kinds_of_figures()
        if self.new or "food_class" in changes or any(map(self.touched, self.figures)):
            changes |= self.parts() | {"entered": {"way": self.way, "typed": self._typed()}}
        return changes

    def parts(self) -> dict[str, Any]:
        """Return the columns that follow from the figures."""
        raise NotImplementedError

    def kinds_of_figures(self) -> list[str] | None:
        """Return what a new food is like of which nobody says it; None: as its name hints."""
        return None

    def _typed(self) -> dict[str, Any]:
        """Return the figures as the person wrote them, units and all; plain numbers without their decimal sign."""
        own = [name for name in self.figures if self.data.get(name)]
        plain = [name for name in own if isinstance(self.fields[name], forms.FloatField)]
        return {name: self.cleaned_data[name] if name in plain else self.data[name] for name in own}


class FoodLabelForm(FoodForm):
    """A food from its nutrition label."""

    way = "label"
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

    def parts(self) -> dict[str, Any]:
        """Return the columns that follow from the label."""
        return values_from_label(self.cleaned_data)


class MoistureForm(FoodForm):
    """A food whose moisture was measured; its dry matter is that of a food of the table."""

    way = "moisture"
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

    def parts(self) -> dict[str, Any]:
        """Return the columns that follow from the moisture and the food of the table."""
        return values_from_moisture(self.cleaned_data)

    def kinds_of_figures(self) -> list[str] | None:
        """Return what the food of the table is like."""
        return list(get(self.cleaned_data["like"]).like) or None


WAYS: dict[str, type[FoodForm]] = {form.way: form for form in (FoodLabelForm, MoistureForm)}
"""How an own food was entered."""


class LineForm(KitchenForm):
    """One ingredient; empty lines are left out."""

    food = forms.CharField(
        max_length=200, required=False, label=_("Ingredient"), widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    mass_kg = QuantityField("mass", low=0.0001, high=1000.0, required=False, label=_("Weight"))

    def __init__(self, *arguments: Any, line: dict[str, Any], **options: Any) -> None:
        shown = {"food": line.get("name"), "mass_kg": line.get("mass_kg")}
        super().__init__(*arguments, initial=shown, **options)

    def read(self, own: Any) -> tuple[Food, float] | None:
        """Return the food with its mass, None for an empty line or with the reasons on the form.

        own: the foods of the house
        """
        if not self.is_valid():
            return None
        text, mass = self.cleaned_data["food"].strip(), self.cleaned_data["mass_kg"]
        if not text and mass is None:
            return None
        if not text or mass is None:
            self.add_error("mass_kg" if text else "food", translated("Enter both the ingredient and its weight."))
            return None
        try:
            return named(text, own), mass
        except InputError as problem:
            self.add_error("food", in_words(problem.message))
            return None


class RecipeForm(RecordForm[Recipe]):
    """A recipe with its lines."""

    model = Recipe
    engine_names: ClassVar = {"final_mass": "final_mass_kg"}

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

    def __init__(self, *arguments: Any, more: bool = False, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.more = more  # empty lines below those that were sent
        self.lines = self._line_forms()

    @property
    def names(self) -> list[str]:
        """Return foods to choose from where a line names none that is known."""
        unknown = [line["food"].data for line in self.lines if line.is_bound and "food" in line.errors]
        return [food.name for text in unknown for food in search(text.strip(), 8)]

    def clean(self) -> dict[str, Any]:
        """Read the lines; reasons stand beside their fields."""
        own = own_foods()
        self.in_it = [found for line in self.lines if line.is_bound and (found := line.read(own)) is not None]
        return dict(super().clean() or self.cleaned_data)

    def is_valid(self) -> bool:
        """Return whether the recipe and each of its lines can be read."""
        return super().is_valid() and all(line.is_valid() for line in self.lines if line.is_bound)

    def changes(self) -> dict[str, Any]:
        """Return the columns to write, when the dish can be prepared."""
        data, changes = self.cleaned_data, super().changes()
        foods = tuple(pots.Ingredient(food, mass) for food, mass in self.in_it)
        pots.prepare(pots.RecipeSpec(data["name"], foods, final_mass=data["final_mass_kg"], cooked=data["cooked"]))
        if self.new:
            changes["like"] = changes["like"] or None  # as its name hints
        lines = [{"food": food.id, "name": food.name[:200], "mass_kg": float(mass)} for food, mass in self.in_it]
        return changes | {"ingredients": lines}

    def _line_forms(self) -> list[LineForm]:
        lines = self.seen.ingredients
        if lines is None:
            lines = [] if self.new else list(self.row.lines.values("food", "name", "mass_kg"))
        count = len(lines) if not self.is_bound else 0
        while self.is_bound and count < MOST_LINES and f"line-{count}-food" in self.data:
            count += 1
        spare = SPARE_LINES if not self.is_bound or self.more else 0
        return [
            LineForm(
                self.data if self.is_bound and number < count else None,
                line=lines[number] if number < len(lines) else {},
                prefix=f"line-{number}",
                units=self.units,
            )
            for number in range(min(count + spare, MOST_LINES))
        ]
