"""Tests of a machine: what was read and what it gave."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("dryers", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="MachineTest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("changed_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("binned_at", models.DateTimeField(blank=True, db_index=True, editable=False, null=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("leak", "leak test"),
                            ("pump", "pump-down test"),
                            ("ice", "ice test"),
                            ("power", "power test"),
                        ],
                        max_length=10,
                    ),
                ),
                ("on", models.DateField()),
                ("readings", models.JSONField(help_text="What was read, SI.")),
                ("values", models.JSONField(default=dict, help_text="By name, low, middle and high, SI.")),
                (
                    "verdict",
                    models.CharField(
                        choices=[
                            ("good", "as it should be"),
                            ("watch", "keep an eye on it"),
                            ("bad", "do something"),
                            ("unclear", "the readings can’t tell"),
                        ],
                        max_length=10,
                    ),
                ),
                ("notes", models.TextField(blank=True)),
                (
                    "dryer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="tests", to="dryers.dryer"
                    ),
                ),
            ],
            options={
                "verbose_name": "machine test",
                "ordering": ("-on", "-pk"),
            },
        ),
    ]
