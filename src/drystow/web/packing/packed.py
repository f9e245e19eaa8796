"""What of each food of a batch is packed, in which kinds of package, and what is left to pack."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import QuerySet

from drystow.packing.containers import containers
from drystow.web.batches.models import Batch, Item
from drystow.web.pantry.books import CRUMBS_KG
from drystow.web.pantry.models import Package

SCALE = 0.001
"""Share of a weight that nobody packs: what a weight is rounded by when it is shown and written again."""


@dataclass(frozen=True)
class Group:
    """Packages of one kind and size that were closed together.

    packages: alike in container, weight, day, place and absorbers
    """

    packages: tuple[Package, ...]

    @property
    def first(self) -> Package:
        """Return one of them."""
        return self.packages[0]

    @property
    def container(self) -> str:
        """Return the name of their container."""
        known = containers().get(self.first.container)
        return known.name if known is not None else self.first.container


@dataclass(frozen=True)
class Packed:
    """How far one food of a batch is packed.

    item: the food
    packages: of it, without those in the bin
    expected: dried food as the run gives it, where nobody weighed it for packing [kg]
    """

    item: Item
    packages: tuple[Package, ...]
    expected: float = 0.0

    @property
    def mass(self) -> float:
        """Return the dried food in its packages [kg]."""
        return float(sum(package.net_mass_kg for package in self.packages))

    @property
    def dried(self) -> float:
        """Return the dried food, packed or not: as weighed, else what is packed, else what the run gives [kg]."""
        if self.item.dried_kg is not None:
            return float(max(self.item.dried_kg, self.mass))
        return self.mass if self.packages else self.expected

    @property
    def left(self) -> float:
        """Return the dried food that is still to be packed [kg]."""
        left = self.dried - self.mass - self.item.aside_kg
        return left if left > slack(self.dried) else 0.0

    @property
    def done(self) -> bool:
        """Return whether nothing of it is left to pack."""
        return bool(self.packages) and not self.left

    @property
    def groups(self) -> list[Group]:
        """Return its packages by kind and size, in the order of packing."""
        found: dict[object, list[Package]] = {}
        for one in self.packages:
            alike = (one.container, one.net_mass_kg, one.packed_on, one.place_id, one.absorbers, one.best_before)
            found.setdefault(alike, []).append(one)
        return [Group(tuple(packages)) for packages in found.values()]


def packages_of(batch: Batch) -> QuerySet[Package]:
    """Return the packages of a batch that are not in the bin, in the order of packing."""
    return Package.objects.kept().filter(batch=batch).select_related("place").order_by("pk")


def slack(dried: float) -> float:
    """Return how much of a dried weight counts as nothing [kg]."""
    return max(CRUMBS_KG, SCALE * dried)


def packed_foods(
    items: Iterable[Item], packages: Iterable[Package], expected: Mapping[int, float] | None = None
) -> dict[int, Packed]:
    """Return how far every food of a batch is packed, by the number of its item.

    packages: of the batch; those that name no item belong to the first of their food
    expected: dried food as the run gives it, by item [kg]
    """
    foods = list(items)
    found: dict[int, list[Package]] = {item.pk: [] for item in foods}
    first = {(item.food, item.name): item.pk for item in reversed(foods)}
    for package in packages:
        number = package.item_id or first.get((package.food, package.name))
        if number in found:
            found[number].append(package)
    return {item.pk: Packed(item, tuple(found[item.pk]), (expected or {}).get(item.pk, 0.0)) for item in foods}


def left_to_pack(items: Iterable[Item], packages: Iterable[Package]) -> list[Packed]:
    """Return the foods of a batch of which some is packed and some is not."""
    return [one for one in packed_foods(items, packages).values() if one.packages and one.left]
