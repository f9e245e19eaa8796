"""``learn``: what the finished batches of every dryer teach, worked out again from the first one."""

from typing import Any

from django.core.management.base import BaseCommand

from drystow.messages import msg_many
from drystow.web.batches.teaching import work_out
from drystow.web.dryers.models import Dryer, Learned


class Command(BaseCommand):
    """Work out anew what batches teach."""

    help = "Work out again, from all finished batches, what each dryer's batches taught."

    def handle(self, *arguments: Any, **options: Any) -> None:
        """Run the command."""
        Learned.objects.all().delete()
        for dryer in Dryer.objects.kept().order_by("name"):
            row = work_out(dryer.pk)
            count = 0 if row is None else len(row.steps)
            self.stdout.write(msg_many("{dryer}: {count} batch", "{dryer}: {count} batches", count, dryer=dryer.name))
