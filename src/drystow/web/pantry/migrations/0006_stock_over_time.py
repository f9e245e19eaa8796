"""Indexes for the stock over time."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("pantry", "0005_fill_months")]

    operations = [
        migrations.AddIndex(
            "package",
            models.Index(fields=["binned_at", "packed_on", "net_mass_kg"], name="pantry_package_packed"),
        ),
        migrations.AddIndex(
            "movement",
            models.Index(fields=["kind", "at", "package", "mass_kg"], name="pantry_movement_by_kind"),
        ),
    ]
