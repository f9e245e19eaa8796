"""Keeps the sums of the batches right: a change marks its batch, which is then summed up anew beside the requests."""

from collections.abc import Iterable
from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Aggregate, Count, Model, Q, Sum

from drystow.web.batches.models import Batch, Item
from drystow.web.costs.models import BatchSums, Outdated
from drystow.web.kit.background import task
from drystow.web.kit.models import Change
from drystow.web.kit.reader import kitchen_zone
from drystow.web.kit.records import kitchen
from drystow.web.pantry.models import Package

SERVING = 0.1
"""Dried food that counts as one serving where nobody said how many there are [kg]. Source: drystow-default."""
CHUNK = 500
ALL = 0
"""What the queue is asked for: whatever is out of date."""
FOOD_SUMS = (
    Sum("mass_kg"),
    Sum("price"),
    Sum("shop_price"),
    Count("pk", filter=Q(shop_price=None)),
    Sum("dried_kg", default=0.0),
)
COLUMNS = [field.name for field in BatchSums._meta.concrete_fields if not field.primary_key]


def mark_changed(sender: Any, instance: Change, created: bool, **_options: Any) -> None:
    """Mark the batch that a change concerns; all of them when the kitchen moved to another time zone."""
    before, after = instance.before or {}, instance.after or {}
    numbers: set[int | None] = set()
    if instance.kind == "batches.batch":
        numbers = {instance.object_id}
    elif instance.kind in ("batches.item", "pantry.package"):
        numbers = {before.get("batch_id"), after.get("batch_id")}
    elif instance.kind == "site.kitchen" and before and before.get("time_zone") != after.get("time_zone"):
        numbers = set(Batch.objects.filter(ended_at__isnull=False).values_list("pk", flat=True))
    marks = [Outdated(batch_number=number) for number in numbers if number is not None]
    if marks:
        Outdated.objects.bulk_create(marks)
        transaction.on_commit(partial(SUMS.ask, ALL))


def are_current(patience: float) -> bool:
    """Return whether the sums are those of now; what is out of date is summed up beside the request meanwhile.

    patience: how long to wait for that [s]
    """
    if not Outdated.objects.exists():
        return True
    SUMS.ask(ALL)
    SUMS.wait(ALL, patience)
    return not Outdated.objects.exists()


def bring_up_to_date() -> None:
    """Sum up the batches of which something was changed since the last time."""
    if not Outdated.objects.exists():
        return
    with transaction.atomic():
        marks = dict(Outdated.objects.values_list("pk", "batch_number"))
        numbers = sorted(set(marks.values()))
        for start in range(0, len(numbers), CHUNK):
            _sum_up(numbers[start : start + CHUNK])
        marked = sorted(marks)
        for start in range(0, len(marked), CHUNK):  # not those that came meanwhile
            Outdated.objects.filter(pk__in=marked[start : start + CHUNK]).delete()


SUMS = task("costs", lambda _all: bring_up_to_date())
"""Asked for when something was changed."""


def rebuild_sums() -> None:
    """Sum up all batches again, after rows were written without `drystow.web.kit.records`."""
    with transaction.atomic():
        BatchSums.objects.all().delete()
        Outdated.objects.all().delete()
        numbers = Batch.objects.kept().filter(ended_at__isnull=False).order_by("pk").values_list("pk", flat=True)
        Outdated.objects.bulk_create((Outdated(batch_number=number) for number in numbers), batch_size=CHUNK)
    bring_up_to_date()


def dry_mass_of(prediction: object) -> float:
    """Return the dried food that was predicted [kg], nothing when nobody predicted."""
    trays = prediction.get("trays", ()) if isinstance(prediction, dict) else ()
    return float(sum(tray.get("dry_kg") or 0.0 for tray in trays))


def _sum_up(numbers: list[int]) -> None:
    batches = list(  # locked, so that who began to add up earlier does not write older sums later
        Batch.objects.kept().filter(pk__in=numbers, ended_at__isnull=False).order_by("pk").select_for_update()
    )
    food = {pk: values for pk, *values in _by_batch(Item, numbers, *FOOD_SUMS)}
    packed = {pk: values for pk, *values in _by_batch(Package, numbers, Sum("net_mass_kg"), Count("pk"))}
    zone = kitchen_zone(kitchen().time_zone)
    rows = [
        _sums_of(batch, zone, food.get(batch.pk, (0.0, 0.0, None, 1, 0.0)), packed.get(batch.pk, (0.0, 0)))
        for batch in batches
    ]
    BatchSums.objects.filter(pk__in=set(numbers) - {row.pk for row in rows}).delete()
    BatchSums.objects.bulk_create(rows, update_conflicts=True, unique_fields=("batch",), update_fields=COLUMNS)


def _by_batch(model: type[Model], numbers: list[int], *sums: Aggregate) -> Iterable[tuple[Any, ...]]:
    rows = model._default_manager.filter(binned_at=None, batch__in=numbers).order_by().values_list("batch")
    return rows.annotate(**{f"sum{number}": value for number, value in enumerate(sums)})


def _sums_of(batch: Batch, zone: ZoneInfo, food: Any, packed: Any) -> BatchSums:
    """Return the sums of a batch.

    food: mass, price, price in a shop, how many foods have no such price, and dried mass as weighed for packing
    packed: dried mass and number of packages
    """
    (fresh, price, shop, without_shop, dried_kg), (in_packages, packages) = food, packed
    weighed = max(in_packages, dried_kg) if packages else in_packages  # what is not packed yet was dried too
    prediction = batch.prediction if isinstance(batch.prediction, dict) else {}
    dried = weighed or dry_mass_of(prediction)
    energy = prediction.get("energy_kwh") if batch.energy_kwh is None else batch.energy_kwh
    missing = ""
    if energy is None:
        missing = "energy"
    elif not dried:
        missing = "dried"
    elif not dried < fresh:
        missing = "yield"
    assert batch.ended_at is not None
    return BatchSums(
        batch=batch,
        ended_at=batch.ended_at,
        month=batch.ended_at.astimezone(zone).date().replace(day=1),
        fresh_kg=fresh,
        dried_kg=dried,
        weighed=bool(weighed),
        energy_kwh=energy,
        measured=batch.energy_kwh is not None,
        food=price or 0.0,
        packaging=batch.packaging_cost,
        shop=None if without_shop else shop,
        servings=batch.servings_in(packages) or dried / SERVING,
        missing=missing,
    )
