"""A power cut tells whether the chamber was opened and how warm the room was."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("batches", "0003_index_of_ends")]

    operations = [
        migrations.AddField(
            model_name="happening",
            name="opened",
            field=models.BooleanField(default=False, help_text="The chamber was opened during a power cut."),
        ),
        migrations.AddField(
            model_name="happening",
            name="room_c",
            field=models.FloatField(blank=True, help_text="Room during a power cut.", null=True),
        ),
    ]
