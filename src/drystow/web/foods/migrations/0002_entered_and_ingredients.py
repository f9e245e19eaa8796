"""What was typed for an own food; lines of a recipe inside its history."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("foods", "0001_initial")]

    operations = [
        migrations.AddField(
            "ownfood",
            "entered",
            models.JSONField(blank=True, default=dict, help_text="What was typed, to be shown again for editing."),
        ),
        migrations.AddField(
            "recipe",
            "ingredients",
            models.JSONField(
                blank=True,
                null=True,
                help_text="The lines as {food, name, mass_kg}, so that history and undo know them.",
            ),
        ),
    ]
