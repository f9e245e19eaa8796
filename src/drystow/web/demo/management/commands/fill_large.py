"""``fill_large``: ten years of rows, to measure speed."""

import random
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import islice
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, models, transaction
from django.utils import timezone

from drystow.web.batches.models import Batch, Item, Load, Weighing
from drystow.web.costs.sums import rebuild_sums
from drystow.web.demo.fill import is_empty
from drystow.web.demo.menu import CUTS, PROGRAMS
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry.models import Movement, Package, Place, PlaceReading
from drystow.web.pantry.readings import rebuild_months

CHUNK = 5000
YEARS = 10
TRAYS = 5
SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
FOODS = tuple(cut for cut in CUTS if ":" not in cut.ref)


class Command(BaseCommand):
    """Fill an empty database with ten years of made-up rows; the numbers mean nothing, only their count."""

    help = "Fill an empty database with ten years of rows, for speed tests."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add how much."""
        parser.add_argument("--batches", type=int, default=5000)
        parser.add_argument("--packages", type=int, default=100_000)
        parser.add_argument("--readings", type=int, default=2_000_000)
        parser.add_argument("--seed", type=int, default=1)

    def handle(self, *arguments: Any, **options: Any) -> None:
        """Run the command."""
        if not is_empty():
            raise CommandError("the database already holds batches or packages; use an empty data folder")
        chance, now = random.Random(options["seed"]), timezone.now().replace(microsecond=0)
        with transaction.atomic():
            dryer = records.create(Dryer(name="Large test dryer", profile="kitchen-5"))
            places = [records.create(Place(name=f"Large test place {number}")) for number in range(1, 9)]
            batches = list(_batches(options["batches"], dryer, now))
            _save(Batch, batches)
            items = [item for batch in batches for item in _items(batch, chance)]
            _save(Item, items)
            _save(Load, _loads(items))
            _save(Weighing, _weighings(batches, chance))
            packages = list(_packages(options["packages"], batches, places, chance, now))
            _save(Package, packages)
            _save(Movement, _movements(packages))
            _save_readings(_readings(options["readings"], places, chance, now))
            rebuild_months()
            rebuild_sums()
        self.stdout.write(f"{len(batches)} batches, {len(packages)} packages, {options['readings']} readings")


def _save(model: type[models.Model], rows: Iterable[Any]) -> None:
    """Save rows some thousands at a time; records get the creation that the history needs."""
    stream = iter(rows)
    while chunk := list(islice(stream, CHUNK)):
        model._default_manager.bulk_create(chunk)
        if hasattr(model, "binned_at"):
            kind = model._meta.label_lower
            Change.objects.bulk_create(
                Change(kind=kind, object_id=row.pk, version=1, action="create", after=records.snapshot(row))
                for row in chunk
            )


def _save_readings(rows: Iterator[tuple[int, datetime, float]]) -> None:
    """Save plain rows without making an object of each: ten times as fast, and there are millions."""
    names = ("place_id", "at", "temperature_c")
    columns = ", ".join(connection.ops.quote_name(name) for name in names)
    statement = f"INSERT INTO {PlaceReading._meta.db_table} ({columns}) VALUES (%s, %s, %s)"
    with connection.cursor() as cursor:
        while chunk := list(islice(rows, CHUNK * 10)):
            written = [(place, connection.ops.adapt_datetimefield_value(at), value) for place, at, value in chunk]
            cursor.executemany(statement, written)


def _batches(count: int, dryer: Dryer, now: datetime) -> Iterator[Batch]:
    gap = timedelta(days=365 * YEARS) / max(count, 1)
    for number in range(count):
        start = now - gap * (count - number)
        food, end = FOODS[number % len(FOODS)], start + timedelta(hours=26)
        yield Batch(
            lot=f"L{number:06d}",
            title=f"{food.name} {number}",
            dryer=dryer,
            stage="done",
            program=[dict(step) for step in PROGRAMS["usual"]],
            started_at=start,
            ended_at=end,
            opened_at=end + timedelta(hours=1),
            done_at=end + timedelta(hours=2),
            prediction=_prediction(food.tray_kg),
            energy_kwh=20.0 + number % 9 if number % 3 else None,
            packaging_cost=11.0,
            created_at=start,
            changed_at=end,
        )


def _prediction(tray_kg: float) -> dict[str, Any]:
    """Return a prediction of the size and shape that a started batch keeps."""
    trays = [
        {
            "tray": tray,
            "item": 1,
            "name": "Large test food",
            "dry_end_h": 22.0,
            "p10": 19.5,
            "p90": 25.5,
            "dry_kg": round(tray_kg / 8, 5),
            "solids_kg": round(tray_kg / 8.3, 5),
        }
        for tray in range(1, TRAYS + 1)
    ]
    total = {"p10": 21.0, "p50": 24.0, "p90": 28.0}
    return {"total_h": total, "energy_kwh": 22.5, "drying_start_h": 9.5, "trays": trays}


def _items(batch: Batch, chance: random.Random) -> list[Item]:
    return [
        Item(
            batch=batch,
            food=cut.ref,
            name=cut.name,
            mass_kg=cut.tray_kg * TRAYS / 2,
            size_m=cut.size_m,
            price=4.0,
            shop_price=30.0,
        )
        for cut in chance.sample(FOODS, 2)
    ]


def _loads(items: list[Item]) -> Iterator[Load]:
    for number, item in enumerate(items):
        for tray in range(1 + number % 2, TRAYS + 1, 2):
            yield Load(item=item, tray=tray, mass_kg=item.mass_kg / (3 - number % 2))


def _weighings(batches: list[Batch], chance: random.Random) -> Iterator[Weighing]:
    for batch in batches:
        assert batch.ended_at is not None
        for turn in range(2):
            at = batch.ended_at + timedelta(hours=2 * turn)
            for tray in range(1, TRAYS + 1):
                gross = float(round(1050 + chance.gauss(0, 15)))
                yield Weighing(batch=batch, tray=tray, at=at, gross_g=gross, tare_g=900.0)


def _packages(
    count: int, batches: list[Batch], places: list[Place], chance: random.Random, now: datetime
) -> Iterator[Package]:
    for number in range(count):
        batch = batches[number * len(batches) // count] if batches else None
        cut, code, rest = FOODS[number % len(FOODS)], "", number
        for _ in range(6):
            rest, digit = divmod(rest, len(SIGNS))
            code = SIGNS[digit] + code
        at = batch.done_at if batch is not None and batch.done_at else now
        state = "stored" if chance.random() < 0.4 else "used"
        yield Package(
            code=code,
            batch=batch,
            lot=batch.lot if batch else f"H{number:06d}",
            food=cut.ref,
            name=cut.name,
            place=places[number % len(places)],
            container="jar-quart",
            net_mass_kg=0.12,
            left_mass_kg=0.12 if state == "stored" else 0.0,
            state=state,
            packed_on=at.date(),
            best_before=at.date() + timedelta(days=chance.randrange(400, 5000)),
            energy_kcal=400.0,
            protein_g=9.0,
            cost=2.5,
            created_at=at,
            changed_at=at,
        )


def _movements(packages: list[Package]) -> Iterator[Movement]:
    for package in packages:
        yield Movement(package=package, kind="packed", at=package.created_at, mass_kg=0.12, place=package.place)
        if package.state == "used":
            yield Movement(package=package, kind="used", at=package.created_at + timedelta(days=60), mass_kg=0.12)


def _readings(
    count: int, places: list[Place], chance: random.Random, now: datetime
) -> Iterator[tuple[int, datetime, float]]:
    gap = timedelta(days=365 * YEARS) / max(count, 1)
    for number in range(count):
        at, celsius = now - gap * (count - number), 15.0 + chance.random() * 8.0
        yield places[number % len(places)].pk, at, celsius
