"""Between the rows of batches and the engine's costs."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from django.db.models import Aggregate, Count, F, FloatField, Max, Min, OuterRef, Q, QuerySet, Subquery, Sum
from django.utils import timezone

from drystow.costs.batch import JOULES_PER_KWH, BatchCost, Prices, batch_cost
from drystow.errors import InputError
from drystow.web.batches.models import Batch, Item
from drystow.web.pantry.models import Package
from drystow.web.site.models import Household
from drystow.web.site.words import problem_words

FOOD_SUMS = (Sum("mass_kg"), Sum("price"), Sum("shop_price"), Count("pk", filter=Q(shop_price=None)))
SERVING = 0.1
"""Dried food that counts as one serving where nobody said how many there are [kg]. Source: drystow-default."""


@dataclass(frozen=True)
class BatchCosts:
    """What one batch cost, or why that is not known.

    fresh: food that went in [kg]
    dried: food that came out [kg]
    energy_kwh: electricity
    measured: the electricity was measured, not predicted
    weighed: the dried mass is that of packages, not predicted
    servings: of the batch, as written down, else of 100 g
    cost: None when something is missing
    missing: what is missing, words of the engine or of this program
    """

    batch: Batch
    fresh: float
    dried: float
    energy_kwh: float | None
    measured: bool
    weighed: bool
    servings: float
    cost: BatchCost | None
    missing: str

    @property
    def water(self) -> float:
        """Return the water removed [kg]."""
        return self.fresh - self.dried


class Sums(NamedTuple):
    """The numbers of one batch with known costs.

    ended_at: end of the run
    dried: food that came out [kg]
    water: removed [kg]
    energy_kwh: electricity, measured or predicted
    food: money for it
    packaging: money for packages
    shop: what the same costs in a shop, None when that is not known of all of it
    servings: as written down, else of 100 g
    """

    ended_at: datetime
    dried: float
    water: float
    energy_kwh: float
    food: float
    packaging: float
    shop: float | None
    servings: float


@dataclass(frozen=True)
class Total:
    """Sums over batches with known costs; money in the currency of the house.

    month: its first day, None for the sum of all
    saving: against shops, over the batches whose shop price is known; None without any
    """

    month: date | None
    batches: int
    dried: float
    water: float
    energy_kwh: float
    energy: float
    food: float
    packaging: float
    total: float
    servings: float
    saving: float | None

    @property
    def per_serving(self) -> float | None:
        """Return the money per serving."""
        return self.total / self.servings if self.servings > 0 else None

    @property
    def dearer(self) -> float | None:
        """Return how much more than in the shop it cost."""
        return None if self.saving is None else -self.saving

    @property
    def per_kg_water(self) -> float | None:
        """Return the money for electricity per kilogram of water removed."""
        return self.energy / self.water if self.water > 0 else None


def finished_batches() -> QuerySet[Batch]:
    """Return the batches whose run has ended, last first, with what their costs need in one query."""
    items = Item.objects.kept().filter(batch=OuterRef("pk")).order_by().values("batch")
    packages = Package.objects.kept().filter(batch=OuterRef("pk")).order_by().values("batch")

    def one(rows: Any, value: Any) -> Subquery:
        return Subquery(rows.annotate(made=value).values("made"), output_field=FloatField())

    return (
        Batch.objects.kept()
        .filter(ended_at__isnull=False)
        .annotate(
            fresh=one(items, Sum("mass_kg")),
            food_price=one(items, Sum("price")),
            shop=one(items, Sum("shop_price")),
            without_shop=one(items, Count("pk", filter=Q(shop_price=None))),
            packed=one(packages, Sum("net_mass_kg")),
            packages_made=one(packages, Count("pk")),
        )
        .only("lot", "title", "ended_at", "energy_kwh", "packaging_cost", "prediction", "servings", "servings_each")
        .order_by(F("ended_at").desc(), "-pk")
    )


def years() -> list[int]:
    """Return the years in which runs ended, last first."""
    ended = Batch.objects.kept().order_by()
    ends = ended.aggregate(first=Min("ended_at"), last=Max("ended_at"))
    if ends["last"] is None:
        return []
    first, last = (timezone.localtime(ends[end]).year for end in ("first", "last"))
    asked = {f"y{year}": Max("ended_at", filter=Q(ended_at__year=year)) for year in range(first, last + 1)}
    found = ended.aggregate(**asked)  # all years in one look at the batches
    return [year for year in range(last, first - 1, -1) if found[f"y{year}"] is not None]


def costs_of(batch: Any, house: Household) -> BatchCosts:
    """Return what a batch cost.

    batch: from `finished_batches`
    """
    prediction = batch.prediction if isinstance(batch.prediction, dict) else {}
    weighed = bool(batch.packed)
    dried = batch.packed or dry_mass_of(prediction)
    measured = batch.energy_kwh is not None
    energy = batch.energy_kwh if measured else prediction.get("energy_kwh")
    fresh = batch.fresh or 0.0
    cost, missing = None, ""
    servings = batch.servings_in(round(batch.packages_made or 0)) or dried / SERVING
    if energy is None:
        missing = "energy"
    elif not dried:
        missing = "dried"
    elif not dried < fresh:
        missing = "yield"
    else:
        shop = batch.shop / dried if batch.shop is not None and not batch.without_shop else None
        try:
            prices = Prices(energy=house.tariff_per_kwh, food=batch.food_price or 0.0, packages=batch.packaging_cost)
            cost = batch_cost(prices, energy * JOULES_PER_KWH, dried, fresh - dried, servings, shop)
        except InputError as problem:
            missing = problem_words(problem)
    return BatchCosts(batch, fresh, dried, energy, measured, weighed, servings, cost, missing)


def sums_of(batches: QuerySet[Batch]) -> list[Sums]:
    """Return the numbers of many batches for their sums, in few questions that read no more than is added up.

    batches: from `finished_batches`
    """
    chosen = batches.order_by().values("pk")
    food = {row[0]: row[1:] for row in _by_batch(Item, chosen, *FOOD_SUMS)}
    packed, made = {}, {}
    for pk, mass, count in _by_batch(Package, chosen, Sum("net_mass_kg"), Count("pk")):
        packed[pk], made[pk] = mass, count
    names = ("pk", "ended_at", "energy_kwh", "packaging_cost", "servings", "servings_each")
    rows = list(batches.order_by("ended_at", "pk").values_list(*names))
    unmeasured = batches.filter(energy_kwh=None).order_by()
    energies = dict(unmeasured.values_list("pk", "prediction__energy_kwh"))
    unpacked = [pk for pk, *_ in rows if not packed.get(pk)]
    predictions = dict(Batch.objects.filter(pk__in=unpacked).values_list("pk", "prediction")) if unpacked else {}
    found = []
    for pk, ended_at, measured, packaging, servings, each in rows:
        fresh, price, shop, without_shop = food.get(pk, (0.0, 0.0, None, 0))
        dried = packed.get(pk) or dry_mass_of(predictions.get(pk))
        energy = energies.get(pk) if measured is None else measured
        if energy is not None and 0.0 < dried < fresh:
            shops = None if without_shop else shop
            count = Batch(servings=servings, servings_each=each).servings_in(made.get(pk, 0)) or dried / SERVING
            found.append(Sums(ended_at, dried, fresh - dried, energy, price or 0.0, packaging, shops, count))
    return found


def totals_by_month(rows: list[Sums], tariff: float) -> list[Total]:
    """Return the sums of every month of the house's clock, last first."""
    months: defaultdict[tuple[int, int], list[Sums]] = defaultdict(list)
    zone = timezone.get_current_timezone()
    for row in rows:
        local = row.ended_at.astimezone(zone)
        months[local.year, local.month].append(row)
    return [total_of(months[month], tariff, date(*month, 1)) for month in sorted(months, reverse=True)]


def total_of(rows: list[Sums], tariff: float, month: date | None = None) -> Total:
    """Return the sums over batches.

    tariff: price of electricity per kWh
    """
    energy_kwh = sum(row.energy_kwh for row in rows)
    food, packaging = sum(row.food for row in rows), sum(row.packaging for row in rows)
    compared = [row for row in rows if row.shop is not None]
    savings = [(row.shop or 0.0) - row.energy_kwh * tariff - row.food - row.packaging for row in compared]
    return Total(
        month=month,
        batches=len(rows),
        dried=sum(row.dried for row in rows),
        water=sum(row.water for row in rows),
        energy_kwh=energy_kwh,
        energy=energy_kwh * tariff,
        food=food,
        packaging=packaging,
        total=energy_kwh * tariff + food + packaging,
        servings=sum(row.servings for row in rows),
        saving=sum(savings) if savings else None,
    )


def dry_mass_of(prediction: object) -> float:
    """Return the dried food that was predicted [kg], nothing when nobody predicted."""
    trays = prediction.get("trays", ()) if isinstance(prediction, dict) else ()
    return float(sum(tray.get("dry_kg") or 0.0 for tray in trays))


def _by_batch(model: type[Item] | type[Package], chosen: QuerySet[Batch, Any], *sums: Aggregate) -> Any:
    rows = model.objects.kept().filter(batch__in=chosen).order_by().values_list("batch")
    return rows.annotate(**{f"sum{number}": value for number, value in enumerate(sums)})
