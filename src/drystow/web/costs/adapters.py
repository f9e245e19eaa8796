"""Between the sums of batches and the engine's costs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, Q, Sum
from django.utils.translation import gettext_lazy as lazy

from drystow.costs.batch import JOULES_PER_KWH, BatchCost, Prices, batch_cost
from drystow.errors import InputError
from drystow.web.costs.models import BatchSums
from drystow.web.kit.words import problem_words

MISSING = {
    "energy": lazy("no electricity known: enter what the meter showed, or forecast the run"),
    "dried": lazy("nothing is packed yet and nothing was forecast"),
    "yield": lazy("more came out than went in; check the weights of food and packages"),
}
COMPARED = Q(missing="", shop__isnull=False)


@dataclass(frozen=True)
class BatchCosts:
    """What one batch cost, or why that is not known.

    sums: of the batch
    cost: None when something is missing
    missing: what is missing, words of the engine or of this program
    """

    sums: BatchSums
    cost: BatchCost | None
    missing: str


@dataclass(frozen=True)
class Month:
    """Sums over the finished batches of a month; only those with known costs count, but for `listed`.

    month: its first day, None for the sum of several
    listed: batches, also those whose costs are not known
    batches: with known costs
    dried: food that came out [kg]
    water: removed [kg]
    energy_kwh: electricity, measured or predicted
    food: money for it
    packaging: money for packages
    servings: as written down, else of 100 g
    compared: batches whose price in a shop is known
    ahead: price in a shop less food and packages, of these batches
    compared_kwh: their electricity
    """

    month: date | None
    listed: int
    batches: int
    dried: float
    water: float
    energy_kwh: float
    food: float
    packaging: float
    servings: float
    compared: int
    ahead: float
    compared_kwh: float


@dataclass(frozen=True)
class CostTotal:
    """Sums over batches with known costs; money in the currency of the kitchen.

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


def costs_of(sums: BatchSums, tariff: float) -> BatchCosts:
    """Return what a batch cost.

    tariff: price of electricity per kWh
    """
    if sums.missing or sums.energy_kwh is None:
        return BatchCosts(sums, None, str(MISSING[sums.missing or "energy"]))
    dried, shop = sums.dried_kg, None if sums.shop is None else sums.shop / sums.dried_kg
    try:
        prices = Prices(energy=tariff, food=sums.food, packages=sums.packaging)
        cost = batch_cost(prices, sums.energy_kwh * JOULES_PER_KWH, dried, sums.fresh_kg - dried, sums.servings, shop)
    except InputError as problem:
        return BatchCosts(sums, None, problem_words(problem))
    return BatchCosts(sums, cost, "")


def months() -> list[Month]:
    """Return the sums of every month in which a run ended, last first; one question."""
    rows = BatchSums.objects.order_by("-month").values_list("month")
    known = Q(missing="")
    found = rows.annotate(
        listed=Count("pk"),
        batches=Count("pk", filter=known),
        dried=Sum("dried_kg", filter=known, default=0.0),
        water=Sum(F("fresh_kg") - F("dried_kg"), filter=known, default=0.0),
        energy=Sum("energy_kwh", filter=known, default=0.0),
        money=Sum("food", filter=known, default=0.0),
        packages=Sum("packaging", filter=known, default=0.0),
        portions=Sum("servings", filter=known, default=0.0),
        compared=Count("pk", filter=COMPARED),
        ahead=Sum(F("shop") - F("food") - F("packaging"), filter=COMPARED, default=0.0),
        compared_kwh=Sum("energy_kwh", filter=COMPARED, default=0.0),
    )
    return [Month(*row) for row in found]


def sum_of(months: Iterable[Month]) -> Month:
    """Return the sums over months."""
    rows = [tuple(vars(month).values())[1:] for month in months]
    return Month(None, *(sum(column) for column in zip(*rows, strict=True))) if rows else Month(None, *[0] * 11)


def total_of(row: Month, tariff: float) -> CostTotal:
    """Return the sums of a month as money.

    tariff: price of electricity per kWh
    """
    energy = row.energy_kwh * tariff
    return CostTotal(
        month=row.month,
        batches=row.batches,
        dried=row.dried,
        water=row.water,
        energy_kwh=row.energy_kwh,
        energy=energy,
        food=row.food,
        packaging=row.packaging,
        total=energy + row.food + row.packaging,
        servings=row.servings,
        saving=row.ahead - row.compared_kwh * tariff if row.compared else None,
    )
