"""Questions to the stock: what is there, how much of it, what is to be used soon."""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import connection
from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from drystow.web.pantry.models import Package, Place

IN_STOCK = ("stored", "open")
SOON = timedelta(days=90)
SHOWN_SOON = 8
MANY_LOTS = 500
"""From here a look at every package takes less time than a list of their lots."""
ORDERS = {
    "date": ("best_before", "packed_on", "pk"),
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
    """

    packages: int
    mass_kg: float
    fresh_kg: float
    energy_kcal: float
    protein_g: float


def kept() -> QuerySet[Package]:
    """Return all packages that are not in the bin, with their places."""
    return Package.objects.kept().select_related("place")


def searched(packages: QuerySet[Package], words: str) -> QuerySet[Package]:
    """Return the packages in which every word is found in name, lot, code or place, whatever its accents.

    The names and lots on the packages are few; those that fit are found first, then their packages by an index.
    """
    wanted = words.split()[:8]
    if not wanted:
        return packages
    names, lots = ([(value, _plain(value)) for value in distinct(column)] for column in ("name", "lot"))
    places = [(pk, _plain(name)) for pk, name in Place.objects.order_by("pk").values_list("pk", "name")]
    codes = dict(Package.objects.filter(code__in={word.upper() for word in wanted}).values_list("code", "pk"))
    for word in wanted:
        found, plain = Q(), _plain(word)
        fitting = {name: [value for value, text in rows if plain in text]
                   for name, rows in (("name", names), ("lot", lots), ("place", places))}  # fmt: skip
        if len(fitting["lot"]) > MANY_LOTS:
            found |= Q(lot__icontains=word)
            del fitting["lot"]
        for column, values in fitting.items():
            if values:
                found |= Q(**{f"{column}__in": values})
        if word.upper() in codes:
            found |= Q(pk=codes[word.upper()])
        packages = packages.filter(found) if found else packages.none()
    return packages


def distinct(column: str) -> list[str]:
    """Return what stands in a column of the packages, each once, in order: one step in its index for each.

    column: ``name`` or ``lot``
    """
    field, table = connection.ops.quote_name(column), connection.ops.quote_name(Package._meta.db_table)
    following = f"SELECT MIN({field}) FROM {table} WHERE {field} > found.value"
    statement = (
        f"WITH RECURSIVE found(value) AS (SELECT MIN({field}) FROM {table} UNION ALL"
        f" SELECT ({following}) FROM found WHERE found.value IS NOT NULL)"
        " SELECT value FROM found WHERE value IS NOT NULL"
    )
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return [value for (value,) in cursor.fetchall()]


def _plain(text: str) -> str:
    """Return a text in small letters without accents."""
    if text.isascii():
        return text.lower()
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


def numbers(packages: QuerySet[Package], order: str) -> "QuerySet[Package, int] | ByPlace":
    """Return the numbers of packages in one of the orders, by date when it is not known, for a `Paginator`."""
    if order == "place":
        return ByPlace(packages)
    return packages.order_by(*ORDERS.get(order, ORDERS["date"])).values_list("pk", flat=True)


class ByPlace(Sequence[int]):
    """Numbers of packages by the name of their place, then by date; a page asks only the places that are on it."""

    def __init__(self, packages: QuerySet[Package]) -> None:
        here = packages.order_by().values_list("place").annotate(number=Count("pk"))
        counts: dict[int, int] = dict(here)
        self.packages = packages
        self.counts = [
            (pk, counts[pk]) for pk in Place.objects.order_by("name").values_list("pk", flat=True) if pk in counts
        ]

    def __len__(self) -> int:
        return sum(number for _place, number in self.counts)

    def __getitem__(self, wished: Any) -> Any:
        """Return a page of numbers; one question."""
        start, stop, _step = wished.indices(len(self)) if isinstance(wished, slice) else (wished, wished + 1, 1)
        here, skipped, before = [], 0, 0
        for place, number in self.counts:
            if before < stop and before + number > start:
                here.append(place)
            elif not here:
                skipped += number
            before += number
        order = ("place__name", *ORDERS["date"]) if len(here) > 1 else ORDERS["date"]
        rows = self.packages.filter(place__in=here).order_by(*order).values_list("pk", flat=True)
        found = list(rows[start - skipped : stop - skipped]) if here else []
        return found if isinstance(wished, slice) else found[0]


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
    found = Package.objects.select_related("place").in_bulk(wanted)  # nothing else, or SQLite takes another index
    return [found[number] for number in wanted if number in found]


def totals(packages: QuerySet[Package]) -> Totals:
    """Return the sums over packages; of an open one only what is left counts."""

    def part(name: str) -> Sum:
        return Sum(F(name) * F("left_mass_kg") / F("net_mass_kg"), default=0.0)

    row: dict[str, Any] = packages.order_by().aggregate(
        packages=Count("pk"),
        mass_kg=Sum("left_mass_kg", default=0.0),
        fresh_kg=part("fresh_kg"),
        energy_kcal=part("energy_kcal"),
        protein_g=part("protein_g"),
    )
    return Totals(**row)
