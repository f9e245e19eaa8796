"""Marks of own foods are stated or not: what nobody ticked was guessed from the name, so it is not known."""

from typing import Any

import django.db.models
from django.db import migrations

import drystow.web.foods.models

NOT_STATED = "not stated"


def open_marks(values: dict[str, Any]) -> dict[str, Any]:
    """Return marks with every "no" and "none" open, for nobody is known to have stated them."""
    opened = dict(values)
    if opened.get("raw_animal") is False:
        opened["raw_animal"] = None
    if opened.get("allergens") == []:
        opened["allergens"] = [NOT_STATED]
    return opened


def reopen(apps: Any, schema_editor: Any) -> None:
    """Keep the marks that are there, and open the others; in the history too, so that no undoing states them."""
    alias = schema_editor.connection.alias
    foods = apps.get_model("foods", "OwnFood").objects.using(alias)
    foods.filter(raw_animal=False).update(raw_animal=None)
    for row in foods.only("allergens").iterator():
        if row.allergens == []:
            foods.filter(pk=row.pk).update(allergens=[NOT_STATED])
    changes = apps.get_model("site", "Change").objects.using(alias)
    for change in changes.filter(kind="foods.ownfood").iterator():
        changes.filter(pk=change.pk).update(before=open_marks(change.before), after=open_marks(change.after))


def close(apps: Any, schema_editor: Any) -> None:
    """Count what is not stated as raw: the state before cannot say it otherwise."""
    apps.get_model("foods", "OwnFood").objects.using(schema_editor.connection.alias).filter(raw_animal=None).update(
        raw_animal=True
    )


class Migration(migrations.Migration):
    dependencies = [
        ("foods", "0003_cooked_is_a_choice"),
        ("site", "0005_history_by_kind"),
    ]

    operations = [
        migrations.AlterField(
            model_name="ownfood",
            name="raw_animal",
            field=django.db.models.BooleanField(blank=True, help_text="Empty: nobody has stated it.", null=True),
        ),
        migrations.AlterField(
            model_name="ownfood",
            name="allergens",
            field=django.db.models.JSONField(blank=True, default=drystow.web.foods.models.not_stated),
        ),
        migrations.RunPython(reopen, close),
    ]
