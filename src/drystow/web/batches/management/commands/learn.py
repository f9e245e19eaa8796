"""``learn``: what the finished batches of every dryer teach, worked out again from the first one."""

from typing import Any

from django.core.management.base import BaseCommand

from drystow.messages import msg_many
from drystow.web.dryers.lessons import LESSONS
from drystow.web.dryers.models import Dryer


class Command(BaseCommand):
    """Work out anew what batches teach."""

    help = "Work out again, from all finished batches, what each dryer's batches taught."

    def handle(self, *arguments: Any, **options: Any) -> None:
        """Run the command."""
        LESSONS.forget()
        for dryer in Dryer.objects.kept().order_by("name"):
            kept = LESSONS.work_out(dryer.pk)
            count = 0 if kept is None or kept.result is None else len(kept.result.steps)
            self.stdout.write(msg_many("{dryer}: {count} batch", "{dryer}: {count} batches", count, dryer=dryer.name))
