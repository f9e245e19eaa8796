"""What stands beside a change keeps its pattern and values, so that it can be told in any language."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("site", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="change",
            name="said",
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
