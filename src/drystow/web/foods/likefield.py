"""The column with the kinds of food that something is like; a name is read for them once, when the row is made."""

from typing import Any

from django.db import models

from drystow.foods.like import hinted


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
