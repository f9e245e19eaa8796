"""Questions to the stock: what is there, how much of it, what is to be used soon."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, F, FloatField, Q, QuerySet, Sum
from django.db.models.functions import Cast, Coalesce

from drystow.web.pantry.models import Package

IN_STOCK = ("stored", "open")
SOON = timedelta(days=90)
SHOWN_SOON = 8
ORDERS = {
    "date": ("best_before", "packed_on", "pk"),
    "place": ("place__name", "best_before", "packed_on", "pk"),
    "food": ("name", "best_before", "packed_on", "pk"),
    "lot": ("lot", "best_before", "packed_on", "pk"),
}
STATES = {"stock": IN_STOCK, "stored": ("stored",), "open": ("open",), "gone": ("used", "given", "discarded")}


@dataclass(frozen=True)
class Totals:
    """What is in stock.

    packages: how many
    mass_kg: dried food
    fresh_kg: fresh food that it stands for
    energy_kcal: of all of it
    protein_g: of all of it
    cost: of all of it
    """

    packages: int
    mass_kg: float
    fresh_kg: float
    energy_kcal: float
    protein_g: float
    cost: float


def kept() -> QuerySet[Package]:
    """Return all packages that are not in the bin, with their places."""
    return Package.objects.kept().select_related("place")


def searched(packages: QuerySet[Package], words: str) -> QuerySet[Package]:
    """Return the packages in which every word is found in name, lot, code or place."""
    for word in words.split()[:8]:
        packages = packages.filter(
            Q(name__icontains=word) | Q(lot__icontains=word) | Q(code__iexact=word) | Q(place__name__icontains=word)
        )
    return packages


def in_state(packages: QuerySet[Package], state: str) -> QuerySet[Package]:
    """Return the packages of a group of states; in stock when the group is not known."""
    return packages.filter(state__in=STATES.get(state, IN_STOCK)) if state != "all" else packages


def soon(today: date) -> list[Package]:
    """Return what is to be eaten first: open packages, then those whose date comes within three months."""
    opened = kept().filter(state="open").order_by(Coalesce("best_before", date.max), "packed_on", "pk")
    due = kept().filter(state="stored", best_before__lte=today + SOON).order_by("best_before", "packed_on", "pk")
    both = [*opened[:SHOWN_SOON], *due[:SHOWN_SOON]]  # two questions, as an index answers each of them
    return sorted(both, key=lambda one: (one.best_before or date.max, one.packed_on, one.pk))[:SHOWN_SOON]


def read(numbers: Iterable[int]) -> list[Package]:
    """Return packages by their numbers in the given order: a page is found by an index alone, then read."""
    wanted = list(numbers)
    found = kept().in_bulk(wanted)
    return [found[number] for number in wanted if number in found]


def totals(packages: QuerySet[Package]) -> Totals:
    """Return the sums over packages; of an open one only what is left counts."""
    share = F("left_mass_kg") / F("net_mass_kg")

    def part(name: str) -> Sum:
        return Sum(Cast(F(name), FloatField()) * share, default=0.0)

    row: dict[str, Any] = packages.order_by().aggregate(
        packages=Count("pk"),
        mass_kg=Sum("left_mass_kg", default=0.0),
        fresh_kg=part("fresh_kg"),
        energy_kcal=part("energy_kcal"),
        protein_g=part("protein_g"),
        cost=part("cost"),
    )
    return Totals(**row)
