"""Marks of packages are stated or not, as those of the food that is in them."""

from importlib import import_module
from typing import Any

import django.db.models
from django.db import migrations

import drystow.web.foods.models

_foods = import_module("drystow.web.foods.migrations.0004_marks_are_stated")


def _open_recipes(apps: Any, alias: str) -> tuple[set[str], set[str]]:
    """Return recipes with an own food in them, also through another recipe; of these, those said to be cooked."""
    lines: dict[str, set[str]] = {}
    for recipe, food in apps.get_model("foods", "RecipeLine").objects.using(alias).values_list("recipe_id", "food"):
        lines.setdefault(f"recipe:{recipe}", set()).add(food)
    found: set[str] = set()
    while (
        more := {ref for ref, foods in lines.items() if any(food.startswith("own:") or food in found for food in foods)}
        - found
    ):
        found |= more
    cooked = apps.get_model("foods", "Recipe").objects.using(alias).filter(cooked=True).values_list("pk", flat=True)
    return found, {f"recipe:{pk}" for pk in cooked}


def reopen(apps: Any, schema_editor: Any) -> None:
    """Open the marks of packages whose food nobody described: own foods, dishes with one, food that no table knows."""
    alias = schema_editor.connection.alias
    recipes, cooked = _open_recipes(apps, alias)
    known = {
        f"recipe:{pk}" for pk in apps.get_model("foods", "Recipe").objects.using(alias).values_list("pk", flat=True)
    }
    packages = apps.get_model("pantry", "Package").objects.using(alias)
    changes = apps.get_model("site", "Change").objects.using(alias)
    for food in packages.order_by().values_list("food", flat=True).distinct():
        from_table = food.startswith("f") and food[1:].isdigit()
        if from_table or (food in known and food not in recipes):
            continue
        opened = [pk for pk, names in packages.filter(food=food).values_list("pk", "allergens") if names == []]
        packages.filter(pk__in=opened).update(allergens=[_foods.NOT_STATED])
        if food not in cooked:
            packages.filter(food=food, raw_animal=False).update(raw_animal=None)
        for change in changes.filter(kind="pantry.package", object_id__in=packages.filter(food=food).values("pk")):
            before, after = (_foods.open_marks(values) for values in (change.before, change.after))
            if food in cooked:
                before |= {key: change.before[key] for key in ("raw_animal",) if key in change.before}
                after |= {key: change.after[key] for key in ("raw_animal",) if key in change.after}
            changes.filter(pk=change.pk).update(before=before, after=after)


def close(apps: Any, schema_editor: Any) -> None:
    """Count what is not stated as raw: the state before cannot say it otherwise."""
    apps.get_model("pantry", "Package").objects.using(schema_editor.connection.alias).filter(raw_animal=None).update(
        raw_animal=True
    )


class Migration(migrations.Migration):
    dependencies = [
        ("foods", "0004_marks_are_stated"),
        ("pantry", "0008_how_long_it_keeps"),
        ("site", "0005_history_by_kind"),
    ]

    operations = [
        migrations.AlterField(
            model_name="package",
            name="raw_animal",
            field=django.db.models.BooleanField(blank=True, help_text="Empty: nobody has stated it.", null=True),
        ),
        migrations.AlterField(
            model_name="package",
            name="allergens",
            field=django.db.models.JSONField(blank=True, default=drystow.web.foods.models.not_stated),
        ),
        migrations.RunPython(reopen, close),
    ]
