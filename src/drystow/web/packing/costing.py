"""What a batch came to, and what each of its packages cost."""

from drystow.messages import msg
from drystow.web.batches.models import Batch, Item
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.records import kitchen
from drystow.web.packing.spec import BatchOutcome, outcome_of, package_costs
from drystow.web.pantry.models import Package


def come_to(batch: Batch) -> tuple[BatchOutcome, list[Item], list[Package]]:
    """Return what a batch came to, with its foods and packages."""
    items = list(Item.objects.kept().filter(batch=batch))
    packages = list(Package.objects.kept().filter(batch=batch).select_related("place").order_by("name", "pk"))
    foods = foods_of(item.food for item in items)
    return outcome_of(batch, items, packages, foods, kitchen()), items, packages


def save_costs(batch: Batch, *, who: str) -> None:
    """Tell every package what it cost."""
    outcome, items, packages = come_to(batch)
    costs = package_costs(outcome, items, packages)
    for package in packages:
        if package.pk in costs:
            values = {"cost": round(costs[package.pk], 4)}
            records.change(package, values, expected=package.version, who=who, words=msg("cost of the batch"))
