"""``fill_demo``: the year of Alder Lane Kitchen."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from drystow.web.demo.fill import BATCHES, SEED, fill, is_empty


class Command(BaseCommand):
    """Fill an empty database with the demo year."""

    help = "Fill an empty database with a year of the invented Alder Lane Kitchen."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add how many batches and the seed."""
        parser.add_argument("--batches", type=int, default=BATCHES)
        parser.add_argument("--seed", type=int, default=SEED)

    def handle(self, *arguments: Any, **options: Any) -> None:
        """Run the command."""
        if not is_empty():
            raise CommandError("the database already holds batches or packages; the demo never mixes with them")
        made = fill(options["batches"], options["seed"])
        self.stdout.write(", ".join(f"{count} {name}" for name, count in made.items()))
