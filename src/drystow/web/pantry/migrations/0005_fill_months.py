"""Sum up the readings that are there by month; a migration of its own, so that PostgreSQL has the table ready."""

from datetime import UTC
from typing import Any

from django.db import migrations
from django.db.models import Count, Max, Sum
from django.db.models.functions import TruncMonth


def fill(apps: Any, editor: Any) -> None:
    """Write one row for each place and month of UTC."""
    readings = apps.get_model("pantry", "PlaceReading").objects.using(editor.connection.alias)
    months = apps.get_model("pantry", "PlaceMonth")
    sums = (
        readings.order_by()
        .annotate(start=TruncMonth("at", tzinfo=UTC))
        .values("place_id", "start")
        .annotate(count=Count("pk"), total_c=Sum("temperature_c"), latest_at=Max("at"))
    )
    made = []
    for row in sums:
        month = row.pop("start").date()
        last = readings.filter(place=row["place_id"], at=row["latest_at"]).order_by("-pk")
        made.append(months(month=month, latest_c=last.values_list("temperature_c", flat=True)[0], **row))
    months.objects.using(editor.connection.alias).bulk_create(made, batch_size=2000)


class Migration(migrations.Migration):
    dependencies = [
        ("pantry", "0004_months_and_indexes"),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
