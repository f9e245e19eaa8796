"""Mark the batches that are there; the first look at the costs sums them up."""

from typing import Any

from django.db import migrations


def mark(apps: Any, editor: Any) -> None:
    """Write one mark for every batch whose run has ended."""
    alias = editor.connection.alias
    batches = apps.get_model("batches", "Batch").objects.using(alias).filter(ended_at__isnull=False, binned_at=None)
    outdated = apps.get_model("costs", "Outdated")
    marks = (outdated(batch_number=number) for number in batches.order_by("pk").values_list("pk", flat=True))
    outdated.objects.using(alias).bulk_create(marks, batch_size=2000)


class Migration(migrations.Migration):
    dependencies = [("costs", "0001_initial")]

    operations = [migrations.RunPython(mark, migrations.RunPython.noop)]
