"""From the items of a batch to the engine's package plan, from the plan to packages, and what a batch came to."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from drystow.costs.batch import JOULES_PER_KWH, BatchCost, Prices, batch_cost
from drystow.drying.layer import target_moisture
from drystow.foods.marks import raw_line
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.packing.containers import container
from drystow.packing.packfile import PackSpec
from drystow.packing.seasons import YEAR, StoreSeason
from drystow.reports.labels import Label
from drystow.reports.package_plan import PackagePlan
from drystow.units import kelvin
from drystow.web.batches.models import Batch, Item, Load, Weighing
from drystow.web.batches.proof_view import net_g
from drystow.web.foods.spec import foods_of
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.records import kitchen
from drystow.web.packing.packed import packed_foods
from drystow.web.pantry.adapters import contents_of, remembered_plan, usual_seasons
from drystow.web.pantry.dates import columns_of, keeps_of
from drystow.web.pantry.models import Package, Place

ROOM = kelvin(21.0)
KEEP_FOR = 5 * YEAR
CREDIBLE = (0.8, 1.25)
"""A tray weighed within this share of its expected dried weight was weighed dry; else it was weighed underway."""


def usual_target(item: Item, food: Food) -> float:
    """Return the moisture wished for an item, else the usual one of its kind."""
    wished = target_moisture(food) if item.target_moisture is None else item.target_moisture
    return min(wished, food.composition.water)


def dried_masses(batch: Batch, items: Iterable[Item], foods: dict[str, Food]) -> dict[int, float]:
    """Return the dried mass of every item by its number: as last weighed, else as its solids and moisture give.

    A tray that several items share, or that was last weighed underway, counts with its solids.
    """
    by_number = {item.pk: item for item in items}
    loads = Load.objects.kept().filter(item__in=by_number)
    trays: dict[int, list[Load]] = defaultdict(list)
    for load in loads:
        trays[load.tray].append(load)
    weighed = {
        row.tray: net_g(row) / 1000 for row in Weighing.objects.standing().filter(batch=batch).order_by("at", "pk")
    }
    masses: dict[int, float] = defaultdict(float)
    for tray, on_it in trays.items():
        expected = {load.pk: _expected(by_number[load.item_id], foods, load.mass_kg) for load in on_it}
        whole, net = sum(expected.values()), weighed.get(tray, 0.0)
        one_food = len({load.item_id for load in on_it}) == 1
        credible = CREDIBLE[0] * whole <= net <= CREDIBLE[1] * whole
        factor = net / whole if one_food and credible and whole > 0 else 1.0
        for load in on_it:
            masses[load.item_id] += expected[load.pk] * factor
    return {number: masses.get(number) or _expected(item, foods, item.mass_kg) for number, item in by_number.items()}


def _expected(item: Item, foods: dict[str, Food], fresh: float) -> float:
    food = foods[item.food]
    return float(fresh * (1 - food.composition.water) / (1 - usual_target(item, food)))


def plan_of(batch: Batch, item: Item, food: Food, kitchen: Kitchen, data: dict[str, Any]) -> PackagePlan:
    """Return how an item is packed, how long it keeps and how it is served.

    data: of the packing form: amount, moisture, container, count, powder, place, packed_on
    """
    place: Place | None = data["place"]
    seasons: tuple[StoreSeason, ...] = (
        (StoreSeason(YEAR, ROOM, 0.5),) if place is None else usual_seasons(place, data["packed_on"])
    )
    return remembered_plan(
        PackSpec(
            title=batch.title,
            food=food,
            dry_mass=data["amount"],
            residual_moisture=data["moisture"],
            moisture_given=True,
            powder=data["powder"],
            size=item.size_m,
            bulk_density=None,
            altitude=kitchen.altitude_m,
            temperature=ROOM,
            air_left=1.0,
            margin=1.25,
            keep_for=KEEP_FOR,
            packed_on=data["packed_on"],
            lot=batch.lot,
            container=container(data["container"]) if data["container"] else None,
            count=data["count"] or 0,
            seasons=seasons,
            label_notes=(),
        )
    )


def package_rows(batch: Batch, item: Item, plan: PackagePlan, place: Place, dried: float) -> list[Package]:
    """Return the packages of a plan, not saved yet and without codes.

    dried: all dried food of the item, of which they hold a part [kg]
    """
    pack, filling = plan.packing.pack, plan.packing.filling
    values = (
        contents_of(pack.food, filling.mass_each, pack.residual_moisture)
        | columns_of(plan.keeps)
        | {
            "batch": batch,
            "item": item,
            "lot": batch.lot,
            "food": item.food,
            "name": item.name,
            "place": place,
            "container": filling.container.id,
            "net_mass_kg": filling.mass_each,
            "left_mass_kg": filling.mass_each,
            "packed_on": pack.packed_on,
            "residual_moisture": pack.residual_moisture,
            "size_m": pack.size,
            "powder": pack.powder,
            "absorbers": plan.packing.absorbers.text[:80] if plan.packing.absorbers.sachets else "",
            "cost": item.price * filling.mass_each / dried,
        }
    )
    return [Package(**values) for _number in range(filling.count)]


def label_of(package: Package, prefix: str, gs1: bool) -> Label:
    """Return the label of a package; its code opens the page of the package, or says what GS1 wants.

    prefix: address of the package pages
    """
    keeps = keeps_of(package)
    return Label(
        food=package.name,
        packed_on=package.packed_on,
        lot=package.lot,
        net_mass=package.net_mass_kg,
        best_before=keeps.best_before if keeps else None,
        best_before_basis=keeps.evidence if keeps else "",
        water_to_add=package.water_to_add_kg,
        allergens=tuple(package.allergens),
        cautions=tuple(filter(None, (raw_line(package.raw_animal),))),
        absorber=bool(package.absorbers),
        qr_prefix="" if gs1 else prefix,
        code=package.code,
        gs1=gs1,
    )


@dataclass(frozen=True)
class BatchOutcome:
    """What a batch came to.

    fresh: food that went in [kg]
    dried: food that came out, packed or not [kg]
    packed: of it in packages [kg]
    left: of it still to be packed [kg]
    share: dried of fresh [-]
    hours: from going in to the end of the run, None when nobody wrote it down [h]
    predicted: low, middle, high hours as predicted when the run began, Nones without
    energy_kwh: electricity, None when it is not known
    measured: the electricity was measured
    servings: that were counted with
    cost: what it cost, None when something is missing
    missing: what is missing for the cost
    """

    fresh: float
    dried: float
    packed: float
    left: float
    share: float | None
    hours: float | None
    predicted: tuple[float | None, float | None, float | None]
    energy_kwh: float | None
    measured: bool
    servings: float
    cost: BatchCost | None
    missing: tuple[str, ...]


def outcome_of(
    batch: Batch, items: list[Item], packages: list[Package], foods: dict[str, Food], kitchen: Kitchen
) -> BatchOutcome:
    """Return what a batch came to: by its servings, else by the customary portions of its foods."""
    far = [one for one in packed_foods(items, packages).values() if one.packages]
    fresh, dried = sum(item.mass_kg for item in items), sum(one.dried for one in far)
    total = batch.prediction.get("total_h") or {}
    measured = batch.energy_kwh is not None
    energy = batch.energy_kwh if measured else batch.prediction.get("energy_kwh")
    count = batch.servings_in(len(packages)) or portions(items, foods) or float(len(packages))
    missing = tuple(
        name
        for name, gone in (("energy", energy is None), ("packages", not packages), ("yield", not 0 < dried < fresh))
        if gone
    )
    cost = None
    if not missing and energy is not None and count > 0:
        prices = Prices(
            energy=kitchen.tariff_per_kwh, food=sum(item.price for item in items), packages=batch.packaging_cost
        )
        shop = [item.shop_price for item in items]
        per_kg = None if None in shop or not shop else sum(price or 0.0 for price in shop) / dried
        cost = batch_cost(prices, energy * JOULES_PER_KWH, dried, fresh - dried, count, per_kg)
    hours = (batch.ended_at - batch.started_at).total_seconds() / 3600 if batch.started_at and batch.ended_at else None
    return BatchOutcome(
        fresh=fresh,
        dried=dried,
        packed=sum(one.mass for one in far),
        left=sum(one.left for one in far),
        share=dried / fresh if fresh > 0 and packages else None,
        hours=hours,
        predicted=(total.get("p10"), total.get("p50"), total.get("p90")),
        energy_kwh=energy,
        measured=measured,
        servings=count,
        cost=cost,
        missing=missing,
    )


def portions(items: list[Item], foods: dict[str, Food]) -> float:
    """Return how many customary portions the fresh food makes, 0 when the portion of one of them is not known."""
    total = 0.0
    for item in items:
        portion = foods[item.food].portion
        if portion is None or portion[1] <= 0:
            return 0.0
        total += item.mass_kg / portion[1]
    return total


def package_costs(outcome: BatchOutcome, items: list[Item], packages: list[Package]) -> dict[int, float]:
    """Return what each package cost: its food by item, all else by dried mass; what is not packed bears its part."""
    if outcome.cost is None:
        return {}
    per_kg = (outcome.cost.total - outcome.cost.food) / outcome.dried
    return {
        package.pk: package.net_mass_kg * (per_kg + far.item.price / far.dried)
        for far in packed_foods(items, packages).values()
        for package in far.packages
    }


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
