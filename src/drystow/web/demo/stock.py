"""The packages of a batch, and what becomes of them."""

import math
import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from drystow.foods.model import Food
from drystow.packing.containers import container
from drystow.packing.packfile import PackSpec
from drystow.packing.seasons import YEAR, constant
from drystow.reports.package_plan import PackagePlan, package_plan
from drystow.units import kelvin
from drystow.web.batches.models import Item
from drystow.web.demo.menu import CONTAINERS, GIFTS
from drystow.web.demo.year import DemoRun
from drystow.web.pantry.adapters import contents_of
from drystow.web.pantry.dates import columns_of, opened
from drystow.web.pantry.models import Movement, Package, Place

CODE_SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
CONTAINER_PRICE = 0.55  # with its absorber
ROOM_C = 21.0


@dataclass
class Stock:
    """Everything that the packages need, and the packages and movements as they grow; nothing is saved.

    foods: by reference
    places: saved places
    altitude: of the kitchen [m]
    tariff: price of electricity per kWh
    now: end of the year
    chance: random numbers
    packages: one row each
    movements: of the packages
    """

    foods: dict[str, Food]
    places: list[Place]
    altitude: float
    tariff: float
    now: datetime
    chance: random.Random
    packages: list[Package] = field(default_factory=list)
    movements: list[Movement] = field(default_factory=list)
    codes: set[str] = field(default_factory=set)

    def code(self) -> str:
        """Return a package code that no other package has."""
        while True:
            code = "".join(self.chance.choice(CODE_SIGNS) for _ in range(6))
            if code not in self.codes:
                self.codes.add(code)
                return code

    def moved(self, package: Package, kind: str, at: datetime, **values: object) -> None:
        """Add a movement."""
        self.movements.append(Movement(package=package, kind=kind, at=at, **values))


def pack_run(stock: Stock, run: DemoRun) -> None:
    """Pack the food of a batch that is far enough, and say when the batch was done.

    stock: to which the packages are added
    run: batch from `year_of_runs`
    """
    batch = run.batch
    if batch.stage not in ("labels", "done") or run.result is None or batch.opened_at is None:
        return
    before = len(stock.packages)
    for item in run.items:
        _pack_item(stock, run, item)
    made = stock.packages[before:]
    batch.packaging_cost = round(CONTAINER_PRICE * len(made), 2)
    if batch.stage == "done":
        batch.done_at = batch.opened_at + timedelta(minutes=90)
        for package in made:
            _live(stock, package)


def _pack_item(stock: Stock, run: DemoRun, item: Item) -> None:
    assert run.result is not None
    assert run.batch.opened_at is not None
    trays = [run.result.trays[number] for number, load in enumerate(run.loads) if load.item is item]
    dry = sum(tray.solids / (1 - tray.residual_moisture) for tray in trays) * stock.chance.uniform(0.975, 0.995)
    moisture = max(tray.residual_moisture for tray in trays)
    food = stock.foods[item.food]
    place = stock.chance.choices(stock.places, weights=(5, 4, 3 if food.composition.fat > 0.04 else 0.3))[0]
    plan = _plan(stock, run, item, food, dry, moisture, place)
    count = plan.packing.filling.count
    share = item.mass_kg / sum(other.mass_kg for other in run.items)
    cost = (item.price + share * (run.batch.energy_kwh or 0.0) * stock.tariff) / count + CONTAINER_PRICE
    for _ in range(count):
        net = round(dry / count * stock.chance.uniform(0.985, 1.0), 3)
        at = run.batch.opened_at + timedelta(minutes=stock.chance.uniform(5, 55))
        package = Package(
            code=stock.code(),
            batch=run.batch,
            lot=run.batch.lot,
            food=item.food,
            name=item.name,
            place=place,
            container=plan.packing.container.id,
            net_mass_kg=net,
            left_mass_kg=net,
            packed_on=run.batch.opened_at.date(),
            residual_moisture=round(moisture, 4),
            size_m=item.size_m,
            absorbers=plan.packing.absorbers.text[:80] if plan.packing.absorbers.sachets else "",
            cost=round(cost, 2),
            created_at=at,
            changed_at=at,
            **contents_of(food, net, moisture),
            **columns_of(plan.keeps),
        )
        stock.packages.append(package)
        stock.moved(package, "packed", at, mass_kg=net, place=place)


def _plan(stock: Stock, run: DemoRun, item: Item, food: Food, dry: float, moisture: float, place: Place) -> PackagePlan:
    assert run.batch.opened_at is not None
    return package_plan(
        PackSpec(
            title=run.batch.title,
            food=food,
            dry_mass=dry,
            residual_moisture=moisture,
            moisture_given=True,
            powder=False,
            size=item.size_m,
            bulk_density=None,
            altitude=stock.altitude,
            temperature=kelvin(ROOM_C),
            air_left=1.0,
            margin=1.25,
            keep_for=5 * YEAR,
            packed_on=run.batch.opened_at.date(),
            lot=run.batch.lot,
            container=container(stock.chance.choice(CONTAINERS)),
            count=0,
            seasons=constant(kelvin(mean_c(place)), place.humidity),  # twelve seasons take ten times as long
            label_notes=(),
        )
    )


def mean_c(place: Place) -> float:
    """Return the mean temperature of a place over the year [°C]."""
    return place.temperature_c if place.winter_c is None else (place.temperature_c + place.winter_c) / 2


def usual_c(place: Place, at: datetime) -> float:
    """Return the usual temperature of a place on a day [°C]: a cosine with its coldest day in the middle of January."""
    if place.winter_c is None:
        return place.temperature_c
    swing = (place.temperature_c - place.winter_c) / 2
    return mean_c(place) - swing * math.cos(2 * math.pi * (at.timetuple().tm_yday - 15) / 365.25)


def _live(stock: Stock, package: Package) -> None:
    """Let a package be used, given away, moved, thrown out, or simply kept."""
    chance, at = stock.chance, package.created_at + timedelta(days=stock.chance.uniform(6, 240))
    fate = chance.random()
    if at > stock.now or fate > 0.52:
        return
    if fate < 0.06:
        package.place = chance.choice([place for place in stock.places if place is not package.place])
        stock.moved(package, "moved", at, place=package.place)
    elif fate < 0.14:
        stock.moved(package, "given", at, mass_kg=package.left_mass_kg, to=chance.choice(GIFTS))
        package.state, package.left_mass_kg = "given", 0.0
    elif fate < 0.16:
        note = "Pouch had lost its vacuum; not tasted."
        stock.moved(package, "discarded", at, mass_kg=package.left_mass_kg, note=note)
        package.state, package.left_mass_kg = "discarded", 0.0
    else:
        _use(stock, package, at)
    package.changed_at = at


def _use(stock: Stock, package: Package, at: datetime) -> None:
    stock.moved(package, "opened", at)
    package.state, package.opened_on = "open", at.date()
    for turn in range(stock.chance.choice((1, 1, 2, 3))):
        when = at + timedelta(days=4 * turn, minutes=10)
        last = turn == 2 or stock.chance.random() < 0.6
        taken = package.left_mass_kg if last else round(package.left_mass_kg / 2, 3)
        if when > stock.now or package.left_mass_kg <= 0:
            break
        stock.moved(package, "used", when, mass_kg=taken)
        package.left_mass_kg = 0.0 if last else round(package.left_mass_kg - taken, 3)
    if package.left_mass_kg <= 0:
        package.state = "used"
    if package.state == "open":
        for name, value in opened(package, at.date()).items():
            setattr(package, name, value)
