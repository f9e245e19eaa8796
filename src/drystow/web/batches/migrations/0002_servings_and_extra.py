"""How many servings a batch makes, and what its load file set beyond the forms."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("batches", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="batch",
            name="extra",
            field=models.JSONField(
                blank=True, default=dict, help_text="As a load file writes it: freeze_to, overload."
            ),
        ),
        migrations.AddField(
            model_name="batch",
            name="servings",
            field=models.FloatField(blank=True, help_text="Of all of it, or of one package.", null=True),
        ),
        migrations.AddField(
            model_name="batch",
            name="servings_each",
            field=models.BooleanField(default=False, help_text="The servings are those of one package."),
        ),
        migrations.AddField(
            model_name="item",
            name="extra",
            field=models.JSONField(
                blank=True,
                default=dict,
                help_text="Fields of its [[tray]] in the load file that no form asks for, as written.",
            ),
        ),
    ]
