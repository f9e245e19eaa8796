"""What an own food or a recipe is like stands in its row: read from its name here, once, and never from then on."""

from typing import Any

import django.db.models
from django.db import migrations

import drystow.web.foods.models
from drystow.foods.classify import hinted


def fill(apps: Any, schema_editor: Any) -> None:
    """Write what the names have been read for until now."""
    alias = schema_editor.connection.alias
    for name in ("OwnFood", "Recipe"):
        rows = apps.get_model("foods", name).objects.using(alias)
        for row in rows.iterator():
            kinds = hinted(row.name, getattr(row, "food_class", None))
            if kinds:
                rows.filter(pk=row.pk).update(like=list(kinds))


class Migration(migrations.Migration):
    dependencies = [
        ("foods", "0004_marks_are_stated"),
    ]

    operations = [
        migrations.AddField(
            model_name="ownfood",
            name="like",
            field=drystow.web.foods.models.LikeField(
                blank=True, default=list, help_text="Kinds of food that it behaves like, beside its class."
            ),
        ),
        migrations.AddField(
            model_name="recipe",
            name="like",
            field=drystow.web.foods.models.LikeField(
                blank=True, default=list, help_text="Kinds of food that the dish behaves like."
            ),
        ),
        migrations.AddField(
            model_name="ownfood",
            name="skin",
            field=django.db.models.BooleanField(
                blank=True, help_text="A whole waxy skin. Empty: as the kinds it is like.", null=True
            ),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="ownfood",
            name="like",
            field=drystow.web.foods.models.LikeField(
                blank=True, default=None, help_text="Kinds of food that it behaves like, beside its class."
            ),
        ),
        migrations.AlterField(
            model_name="recipe",
            name="like",
            field=drystow.web.foods.models.LikeField(
                blank=True, default=None, help_text="Kinds of food that the dish behaves like."
            ),
        ),
    ]
