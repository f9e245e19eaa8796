"""The whole answer to how long a package keeps stands in its record: the last day and what may end it."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("pantry", "0007_orders_hold_the_search")]

    operations = [
        migrations.AddField("package", "best_until", models.DateField(blank=True, null=True)),
        migrations.AddField("package", "limit", models.CharField(blank=True, max_length=40)),
    ]
