"""Own foods and recipes."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from drystow.foods.classify import hinted
from drystow.foods.marks import UNKNOWN
from drystow.foods.model import FOOD_CLASSES
from drystow.web.kit.models import Record


class LikeField(models.JSONField):
    """Kinds of food, keys of relatives.toml. Where nobody has stated any, the name of the new row hints at them."""

    def pre_save(self, model_instance: models.Model, add: bool) -> Any:
        """Read the hint before the row is first written, in whatever way that happens; a stored list stays."""
        kinds = getattr(model_instance, self.attname)
        if kinds is None:
            row: Any = model_instance
            kinds = list(hinted(row.name, getattr(row, "food_class", None)))
            setattr(model_instance, self.attname, kinds)
        return kinds


def not_stated() -> list[str]:
    """Return the allergens of a food of which nobody has said anything."""
    return list(UNKNOWN)


CLASS_CHOICES = tuple((name, _(name)) for name in FOOD_CLASSES)


class OwnFood(Record):
    """A food of the kitchen: composition as mass fractions of the fresh food."""

    name = models.CharField(max_length=120, unique=True)
    food_class = models.CharField(max_length=20, choices=CLASS_CHOICES, default="dish")
    like = LikeField(default=None, blank=True, help_text="Kinds of food that it behaves like, beside its class.")
    composition = models.JSONField(help_text="Mass fractions of the fresh food, adding up to one.")
    moisture_sd = models.FloatField(default=0.01)
    moisture_from = models.CharField(max_length=200, blank=True, help_text="How the moisture was measured.")
    raw_animal = models.BooleanField(null=True, blank=True, help_text="Empty: nobody has stated it.")
    allergens = models.JSONField(default=not_stated, blank=True)
    skin = models.BooleanField(null=True, blank=True, help_text="A whole waxy skin. Empty: as the kinds it is like.")
    nutrients = models.JSONField(default=dict, blank=True, help_text="Per 100 g fresh.")
    notes = models.TextField(blank=True)
    entered = models.JSONField(default=dict, blank=True, help_text="What was typed, to be shown again for editing.")

    def __str__(self) -> str:
        return self.name


class Recipe(Record):
    """Ingredients that are cooked (or only mixed) and then dried, or a meal cooked from the pantry."""

    USES = (("dry", _("to dry")), ("cook", _("to cook from the pantry")))

    name = models.CharField(max_length=120, unique=True)
    use = models.CharField(max_length=4, choices=USES, default="dry")
    cooked = models.BooleanField(default=False)
    like = LikeField(default=None, blank=True, help_text="Kinds of food that the dish behaves like.")
    final_mass_kg = models.FloatField(null=True, blank=True)
    servings = models.FloatField(default=4)
    method = models.TextField(blank=True)
    ingredients = models.JSONField(
        null=True, blank=True, help_text="The lines as {food, name, mass_kg}, so that history and undo know them."
    )

    def __str__(self) -> str:
        return self.name

    def save(self, *arguments: Any, **options: Any) -> None:
        """Save the recipe and make its lines those of `ingredients`, also when a change is undone."""
        super().save(*arguments, **options)
        if self.ingredients is not None:
            kept = list(self.lines.values("food", "name", "mass_kg"))
            if kept != self.ingredients:
                self.lines.all().delete()
                RecipeLine.objects.bulk_create(RecipeLine(recipe=self, **line) for line in self.ingredients)


class RecipeLine(models.Model):
    """One ingredient of a recipe; lines are replaced together with their recipe."""

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="lines")
    food = models.CharField(max_length=140, help_text="Id in the food table, or own:<number>.")
    name = models.CharField(max_length=200)
    mass_kg = models.FloatField()

    class Meta:
        ordering = ("pk",)
