from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("site", "0009_kitchen"),
    ]

    operations = [
        migrations.CreateModel(
            name="Answer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=20)),
                ("subject", models.PositiveBigIntegerField(help_text="Number of the row that it is about.")),
                ("asked", models.TextField(blank=True, help_text="What a person wished for it.")),
                ("fingerprint", models.CharField(blank=True, help_text="Hash of all that it rests on.", max_length=64)),
                (
                    "form",
                    models.CharField(
                        blank=True, help_text="Hash of what it looks like, and of what is kept.", max_length=64
                    ),
                ),
                ("at", models.DateTimeField(help_text="When the work on it began; empty: not yet.", null=True)),
                (
                    "progress",
                    models.FloatField(
                        default=0.0, help_text="How far the work on it is, where another process does it."
                    ),
                ),
                ("result", models.TextField(blank=True)),
                ("problems", models.TextField(blank=True, help_text="Why there is none.")),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("kind", "subject"), name="site_answer_once")],
            },
        ),
    ]
