"""The settings are those of the kitchen, in the history and among what was typed too."""

from typing import Any

from django.db import migrations

OLD, NEW = "site.household", "site.kitchen"


def call_it_kitchen(apps: Any, schema_editor: Any) -> None:
    """Give the rows that name a kind of record its name of now: undoing looks the model up by it."""
    for model in ("Change", "Typed"):
        rows = apps.get_model("site", model).objects.using(schema_editor.connection.alias)
        rows.filter(kind=OLD).update(kind=NEW)


class Migration(migrations.Migration):
    dependencies = [("site", "0008_languages_of_the_settings")]

    operations = [
        migrations.RenameModel("Household", "Kitchen"),
        migrations.AlterModelOptions("kitchen", {"verbose_name": "kitchen"}),
        migrations.RunPython(call_it_kitchen, migrations.RunPython.noop),
    ]
