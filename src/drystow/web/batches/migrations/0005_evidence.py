"""What is seen of a batch besides weighings, when drying began, and what was made of it all."""

import django.db.models.deletion
from django.db import migrations, models

FINDINGS = [
    ("dry", "the same all through, no ice, not cold"),
    ("cold", "cold inside"),
    ("soft", "soft, sticky or damp inside"),
    ("ice", "ice inside"),
]
OUTSIDE = "Out of the chamber before it lay on the scale."


class Migration(migrations.Migration):
    dependencies = [("batches", "0004_power_cuts")]

    operations = [
        migrations.AddField(
            "batch",
            "drying_began_at",
            models.DateTimeField(blank=True, help_text="Vacuum on; as predicted when empty.", null=True),
        ),
        migrations.AddField("weighing", "outside_min", models.FloatField(default=4.0, help_text=OUTSIDE)),
        migrations.AddField(
            "happening",
            "tray",
            models.PositiveSmallIntegerField(blank=True, help_text="Of the piece that was cut open.", null=True),
        ),
        migrations.AddField(
            "happening",
            "finding",
            models.CharField(blank=True, choices=FINDINGS, help_text="In the piece that was cut open.", max_length=4),
        ),
        migrations.CreateModel(
            name="Judgement",
            fields=[
                (
                    "batch",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="judgement",
                        serialize=False,
                        to="batches.batch",
                    ),
                ),
                (
                    "fingerprint",
                    models.CharField(help_text="Hash of all that it rests on, besides the clock.", max_length=64),
                ),
                ("at", models.DateTimeField(help_text="The moment that was asked about.")),
                ("result", models.JSONField(default=dict)),
            ],
        ),
        migrations.CreateModel(
            name="Sample",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("tray", models.PositiveSmallIntegerField()),
                ("at", models.DateTimeField(help_text="Taken from the tray.")),
                (
                    "kind",
                    models.CharField(
                        choices=[("oven", "dried in an oven"), ("meter", "water-activity meter")], max_length=5
                    ),
                ),
                ("before_g", models.FloatField(blank=True, help_text="As taken.", null=True)),
                ("after_g", models.FloatField(blank=True, help_text="Dried to constant weight.", null=True)),
                ("resolution_g", models.FloatField(blank=True, help_text="Steps of the scale.", null=True)),
                ("activity", models.FloatField(blank=True, help_text="Shown by the meter at 25 °C.", null=True)),
                ("note", models.CharField(blank=True, max_length=200)),
                ("who", models.CharField(blank=True, max_length=80)),
                (
                    "batch",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="samples", to="batches.batch"
                    ),
                ),
                (
                    "corrects",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrected_by",
                        to="batches.sample",
                    ),
                ),
            ],
            options={"ordering": ("at", "pk")},
        ),
    ]
