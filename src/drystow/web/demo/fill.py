"""Put the year of Alder Lane Kitchen into an empty database."""

import logging
import random
import threading
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db import connection, models, transaction
from django.utils import timezone

from drystow.said import say
from drystow.web.batches.adapters import foods_of
from drystow.web.batches.models import Batch, Happening, Item, Load, Weighing
from drystow.web.costs.sums import rebuild_sums
from drystow.web.demo.menu import DRYERS, OWN_FOODS, PLACES, RECIPES
from drystow.web.demo.plans import save_plans
from drystow.web.demo.stock import Stock, pack_run, usual_c
from drystow.web.demo.year import Run, year_of_runs
from drystow.web.dryers.models import Dryer, Service
from drystow.web.foods.models import OwnFood, Recipe, RecipeLine
from drystow.web.pantry.models import Movement, Package, Place, PlaceReading
from drystow.web.pantry.readings import rebuild_months
from drystow.web.site import records
from drystow.web.site.models import Change, Record

BATCHES = 61
RUNNING_SINCE = 11.0  # hours that the demo's run is under way
SEED = 7
READINGS_PER_DAY = 4
CHUNK = 2000
WORDS = say("demo")

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
        if is_empty():
            fill()
        else:
            keep_alive()
    except Exception:
        _log.exception("the demo year cannot be filled in; the demo load still works")
    finally:
        _at_work.clear()
        connection.close()


def keep_alive(now: datetime | None = None) -> None:
    """Begin the demo's run again when its forecast is over, so that a demo opened days later shows a run under way.

    Only a run that nobody changed or weighed since the demo wrote it is moved, with what the demo noted during it.
    """
    now = (now or timezone.now()).replace(microsecond=0)
    for batch in Batch.objects.kept().filter(stage="running", ended_at=None, weighings=None).exclude(started_at=None):
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
    """Fill the database with the year and return how many rows of each kind were made.

    batches: how many, at least one in each stage
    seed: the same seed gives the same year
    now: end of the year, this moment by default
    """
    now = (now or timezone.now()).replace(microsecond=0)
    dryers, places, refs = _house(now)
    house = records.household()
    runs = list(year_of_runs(now, batches, dryers, refs, seed))
    foods = foods_of(item.food for run in runs for item in run.items)
    stock = Stock(foods, places, house.altitude_m, house.tariff_per_kwh, now, random.Random(seed + 1))
    for run in runs:
        pack_run(stock, run)
    with transaction.atomic():
        _save_runs(runs)
        _save(Package, stock.packages)
        _save(Movement, stock.movements)
        readings = list(_readings(places, now, random.Random(seed + 2)))
        _save(PlaceReading, readings)
        rebuild_months()
        services = list(_services(dryers, runs, now, random.Random(seed + 3)))
        _save(Service, services)
        save_plans(dryers, refs, now)
        rebuild_sums()
    return {
        "batches": len(runs),
        "packages": len(stock.packages),
        "movements": len(stock.movements),
        "weighings": sum(len(run.weighings) for run in runs),
        "readings": len(readings),
        "services": len(services),
    }


def _house(now: datetime) -> tuple[list[Dryer], list[Place], dict[str, str]]:
    """Make what the batches need; may be called again after a fill that was cut off."""
    since = now - timedelta(days=364)
    with transaction.atomic():
        house = records.household()
        wanted = {"name": "Alder Lane Kitchen", "altitude_m": 240.0, "people": 6, "guide_done": True}
        records.change(house, wanted, expected=house.version, words=WORDS)
        dryers = [_one(Dryer, row, since) for row in DRYERS]
        places = [_one(Place, row, since) for row in PLACES]
        refs = {f"own:{row['name']}": f"own:{_one(OwnFood, row, since).pk}" for row in OWN_FOODS}
        for row in RECIPES:
            values = {name: value for name, value in row.items() if name != "lines"}
            recipe = _one(Recipe, values, since)
            if not recipe.lines.exists():
                lines: Any = row["lines"]
                foods = foods_of(ref for ref, _ in lines)
                RecipeLine.objects.bulk_create(
                    RecipeLine(recipe=recipe, food=ref, name=foods[ref].name, mass_kg=mass) for ref, mass in lines
                )
            refs[f"recipe:{row['name']}"] = f"recipe:{recipe.pk}"
    return dryers, places, refs


def _one(model: type[Any], values: dict[str, object], since: datetime) -> Any:
    found = model.objects.filter(name=values["name"]).first()
    return found or records.create(model(**values, created_at=since, changed_at=since), words=WORDS)


def _save_runs(runs: list[Run]) -> None:
    batches = [run.batch for run in runs]
    Batch.objects.bulk_create(batches)
    _save(Item, [item for run in runs for item in run.items])
    for run in runs:  # the rows have their numbers only now
        for row, load in zip(run.batch.prediction.get("trays", ()), run.loads, strict=False):
            row["item"] = load.item.pk
    Batch.objects.bulk_update(batches, ["prediction"])
    _remember(batches)
    _save(Load, [load for run in runs for load in run.loads])
    _save(Weighing, [row for run in runs for row in run.weighings])
    _save(Happening, [row for run in runs for row in run.happenings])


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


def _readings(places: list[Place], now: datetime, chance: random.Random) -> Iterable[PlaceReading]:
    for place in places:
        drift = 0.0
        for step in range(365 * READINGS_PER_DAY, -1, -1):
            at = now - timedelta(hours=24 / READINGS_PER_DAY * step)
            drift = 0.97 * drift + chance.gauss(0, 0.15)
            day = 0.6 if 10 <= at.hour < 20 else -0.4
            yield PlaceReading(place=place, at=at, temperature_c=round(usual_c(place, at) + drift + day, 1))


def _services(dryers: list[Dryer], runs: list[Run], now: datetime, chance: random.Random) -> Iterable[Service]:
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
