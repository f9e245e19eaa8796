"""Put the year of Alder Lane Kitchen into an empty database."""

import logging
import random
import threading
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection, models, transaction
from django.utils import timezone

from drystow.messages import msg
from drystow.web.batches.models import Batch, Happening, Item, Load, Weighing
from drystow.web.costs.sums import rebuild_sums
from drystow.web.demo.menu import DRYERS, OWN_FOODS, PLACES, RECIPES, save_plans
from drystow.web.demo.stock import Stock, pack_run, usual_c
from drystow.web.demo.year import DemoRun, year_of_runs
from drystow.web.dryers.models import Dryer, Service
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.models import Change, Record
from drystow.web.pantry.models import Movement, Package, Place, PlaceReading
from drystow.web.pantry.readings import rebuild_months
from drystow.web.plans.models import Plan

BATCHES = 61
RUNNING_SINCE = 11.0  # hours that the demo's run is under way
SEED = 7
READINGS_PER_DAY = 4
CHUNK = 2000
WORDS = msg("demo")

_log = logging.getLogger("drystow.demo")
_at_work = threading.Event()


def is_being_filled() -> bool:
    """Return whether the year is being written at this moment, so that the pages can say so."""
    return _at_work.is_set()


def is_empty() -> bool:
    """Return whether nobody has made a batch or a package yet."""
    return not (Batch.objects.exists() or Package.objects.exists())


def fill_in_background() -> threading.Thread:
    """Fill an empty database while the pages already answer; return the thread that does it."""
    _at_work.set()
    thread = threading.Thread(target=_fill_if_empty, name="demo-year", daemon=True)
    thread.start()
    return thread


def _fill_if_empty() -> None:
    try:
        begun = _begun()
        if begun is not None or is_empty():
            now = begun or timezone.now()
            unfinished().write_text(now.isoformat(), encoding="ascii")
            fill(now=now)
            unfinished().unlink()
        else:
            keep_alive()
    except Exception:
        _log.exception("the demo year cannot be filled in; the demo load still works")
    finally:
        _at_work.clear()
        connection.close()


def unfinished() -> Path:
    """Return the file that stands while the year is being written; it holds the moment at which the year ends."""
    return Path(settings.DATA_FOLDER) / "demo-unfinished"


def _begun() -> datetime | None:
    """Return the end of the year that was begun and never finished, None when there is none."""
    try:
        return datetime.fromisoformat(unfinished().read_text(encoding="ascii"))
    except (OSError, ValueError):
        return None


def keep_alive(now: datetime | None = None) -> None:
    """Begin the demo's run again when its forecast is over, so that a demo opened days later shows a run under way.

    Only a run that nobody changed or weighed since the demo wrote it is moved, with what the demo noted during it.
    """
    now = (now or timezone.now()).replace(microsecond=0)
    for batch in Batch.objects.kept().filter(stage="running", ended_at=None, weighings=None).exclude(started_at=None):
        assert batch.started_at is not None
        total = batch.prediction.get("total_h", {}).get("p10")
        rows = [batch, *Happening.objects.kept().filter(batch=batch)]
        untouched = all(records.history(row).first().words == WORDS for row in rows)
        if not untouched or not total or now - batch.started_at < timedelta(hours=total):
            continue
        later = now - timedelta(hours=RUNNING_SINCE) - batch.started_at
        with transaction.atomic():
            for row in rows:
                name = "started_at" if row is batch else "at"
                records.change(row, {name: getattr(row, name) + later}, expected=row.version, words=WORDS)


def fill(batches: int = BATCHES, seed: int = SEED, now: datetime | None = None) -> dict[str, int]:
    """Fill the database with the year and return how many rows of each kind there are.

    It is written piece by piece, each complete in itself, so that nobody waits for the whole year. Called again with
    the same moment after it was cut off, it goes on where it was.

    batches: how many, at least one in each stage
    seed: the same seed gives the same year
    now: end of the year, this moment by default
    """
    now = (now or timezone.now()).replace(microsecond=0)
    dryers, places, refs = _house(now)
    kitchen = records.kitchen()
    runs = list(year_of_runs(now, batches, dryers, refs, seed))
    foods = foods_of(item.food for run in runs for item in run.items)
    stock = Stock(foods, places, kitchen.altitude_m, kitchen.tariff_per_kwh, now, random.Random(seed + 1))
    for run in runs:
        packages, movements = len(stock.packages), len(stock.movements)
        pack_run(stock, run)
        _save_run(run, stock.packages[packages:], stock.movements[movements:])
    chance = random.Random(seed + 2)
    readings = sum(_save_readings(place, list(_readings(place, now, chance))) for place in places)
    rebuild_months()
    services = list(_services(dryers, runs, now, random.Random(seed + 3)))
    with transaction.atomic():
        if not _written(Service).exists():
            _save(Service, services)
    with transaction.atomic():
        if not _written(Plan).exists():
            save_plans(dryers, refs, now)
    rebuild_sums()
    return {
        "batches": len(runs),
        "packages": len(stock.packages),
        "movements": len(stock.movements),
        "weighings": sum(len(run.weighings) for run in runs),
        "readings": readings,
        "services": len(services),
    }


def _house(now: datetime) -> tuple[list[Dryer], list[Place], dict[str, str]]:
    """Make what the batches need; may be called again after a fill that was cut off."""
    since = now - timedelta(days=364)
    with transaction.atomic():
        kitchen = records.kitchen()
        wanted = {"name": "Alder Lane Kitchen", "altitude_m": 240.0, "people": 6, "guide_done": True}
        records.change(kitchen, wanted, expected=kitchen.version, words=WORDS)
        dryers = [_one(Dryer, row, since) for row in DRYERS]
        places = [_one(Place, row, since) for row in PLACES]
        refs = {f"own:{row['name']}": f"own:{_one(OwnFood, row, since).pk}" for row in OWN_FOODS}
        for row in RECIPES:
            lines: Any = row["lines"]
            foods = foods_of(ref for ref, _mass in lines)
            values = {name: value for name, value in row.items() if name != "lines"}
            values["ingredients"] = [{"food": ref, "name": foods[ref].name, "mass_kg": mass} for ref, mass in lines]
            refs[f"recipe:{row['name']}"] = f"recipe:{_one(Recipe, values, since).pk}"
    return dryers, places, refs


def _one(model: type[Any], values: dict[str, object], since: datetime) -> Any:
    found = model.objects.filter(name=values["name"]).first()
    return found or records.create(model(**values, created_at=since, changed_at=since), words=WORDS)


def _written(model: type[Record]) -> Any:
    """Return the rows in the history that the demo wrote of a kind."""
    return Change.objects.filter(kind=model._meta.label_lower, action="create", words=WORDS)


def _save_run(run: DemoRun, packages: list[Package], movements: list[Movement]) -> None:
    """Save a batch with all that belongs to it, unless it is there already."""
    with transaction.atomic():
        if Batch.objects.filter(lot=run.batch.lot).exists():
            return
        run.batch.save()
        _save(Item, run.items)
        for row, load in zip(run.batch.prediction.get("trays", ()), run.loads, strict=False):
            row["item"] = load.item.pk  # the rows have their numbers only now
        run.batch.save()
        _remember([run.batch])
        _save(Load, run.loads)
        _save(Weighing, run.weighings)
        _save(Happening, run.happenings)
        _save(Package, packages)
        _save(Movement, movements)


def _save_readings(place: Place, rows: list[PlaceReading]) -> int:
    """Save the temperatures of a place, unless they are there already, and return how many."""
    with transaction.atomic():
        if not PlaceReading.objects.filter(place=place, at=rows[0].at).exists():
            _save(PlaceReading, rows)
    return len(rows)


def _save(model: type[models.Model], rows: list[Any]) -> None:
    model._default_manager.bulk_create(rows, batch_size=CHUNK)
    if issubclass(model, Record):
        _remember(rows)


def _remember(rows: Iterable[Record]) -> None:
    changes = (
        Change(
            kind=records.kind_of(row),
            object_id=row.pk,
            version=row.version,
            action="create",
            at=row.created_at,
            words=WORDS,
            after=records.snapshot(row),
        )
        for row in rows
    )
    Change.objects.bulk_create(changes, batch_size=CHUNK)


def _readings(place: Place, now: datetime, chance: random.Random) -> Iterable[PlaceReading]:
    drift = 0.0
    for step in range(365 * READINGS_PER_DAY, -1, -1):
        at = now - timedelta(hours=24 / READINGS_PER_DAY * step)
        drift = 0.97 * drift + chance.gauss(0, 0.15)
        day = 0.6 if 10 <= at.hour < 20 else -0.4
        yield PlaceReading(place=place, at=at, temperature_c=round(usual_c(place, at) + drift + day, 1))


def _services(dryers: list[Dryer], runs: list[DemoRun], now: datetime, chance: random.Random) -> Iterable[Service]:
    for dryer in dryers:
        hours, leak = 0.0, chance.uniform(0.4e-3, 0.7e-3)
        mine = [run for run in runs if run.batch.dryer is dryer and run.batch.ended_at and run.batch.started_at]
        for number, run in enumerate(mine):
            assert run.batch.ended_at is not None
            assert run.batch.started_at is not None
            hours += (run.batch.ended_at - run.batch.started_at).total_seconds() / 3600
            at = min(run.batch.ended_at + timedelta(hours=3), now)
            if hours > dryer.oil_hours_limit * chance.uniform(0.85, 1.0):
                hours = 0.0
                yield _service(dryer, "oil", at, None, "Old oil was cloudy." if chance.random() < 0.3 else "")
            if number % 6 == 5:
                yield _service(dryer, "gasket", at, None, "Wiped and checked for cuts.")
            if number % 8 == 3:
                leak *= chance.uniform(0.95, 1.2)
                yield _service(dryer, "leak", at, round(leak, 6), "Valve shut for ten minutes.")


def _service(dryer: Dryer, kind: str, at: datetime, value: float | None, notes: str) -> Service:
    return Service(dryer=dryer, kind=kind, on=at.date(), value=value, notes=notes, created_at=at, changed_at=at)
