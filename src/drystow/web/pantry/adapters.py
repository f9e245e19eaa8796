"""Between the rows of the pantry and the engine: how long a package keeps, how it is served, what is in it."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.utils import timezone

from drystow.drying.layer import target_moisture
from drystow.errors import DrystowError, InputError
from drystow.foods import marks
from drystow.foods.marks import ASK_FOR_ALLERGENS, NOT_STATED
from drystow.foods.model import Food
from drystow.foods.nutrition import ENERGY_FACTORS, per_serving
from drystow.keeping.food_code import packed_moist_caution
from drystow.keeping.shelf_life import KeepingResult
from drystow.keeping.survival import NO_KILL_STEP
from drystow.messages import msg, ranged
from drystow.numerics.remembered import by_value, remembered
from drystow.packing.containers import container, containers
from drystow.packing.packfile import PackSpec
from drystow.packing.seasons import YEAR, StoreSeason
from drystow.reports.package_plan import PackagePlan, package_plan
from drystow.reports.text import duration_text, mass_text, water_back
from drystow.serving.cautions import COOKING_TARGETS, raw_cautions, serving_cautions
from drystow.serving.rehydration import fresh_equivalent, water_to_add
from drystow.units import kelvin
from drystow.web.foods.spec import food_of
from drystow.web.kit import records
from drystow.web.kit.models import Kitchen
from drystow.web.kit.words import in_words
from drystow.web.pantry.models import Movement, Package, Place, PlaceMonth
from drystow.web.pantry.readings import Climate, seasons_of

UNKNOWN_FOOD = "unknown"
"""Reference of a package by hand whose food no table knows."""

ABSORBER_INSIDE = msg("size not stated")
"""Absorbers of a package of which a person said only that there are some."""

USUAL_SIZE = 0.01  # of pieces nobody measured [m]
ROOM = kelvin(21.0)
KEPT = 256  # plans remembered


@dataclass(frozen=True)
class PackageFacts:
    """What the page of a package says.

    keeping: time to the first limit at the temperatures it has met, None when the food is not known
    soaking: (kind of water, time in words)
    how: one sentence for the cook
    cautions: sentences on safety
    assumed: sentence on what the time counts on that nobody wrote down, else empty
    """

    keeping: KeepingResult | None
    soaking: tuple[tuple[str, str], ...]
    how: str
    cautions: tuple[str, ...]
    assumed: str = ""


def known_food(ref: str) -> Food | None:
    """Return the food of a reference, None when no table knows it any more."""
    try:
        return food_of(ref)
    except (DrystowError, ObjectDoesNotExist):
        return None


def stored_food(package: Package) -> Food | None:
    """Return the food of a package with the package's own marks, None when no table knows it any more."""
    food = known_food(package.food)
    if food is None:
        return None
    return replace(food, raw_animal=package.raw_animal, allergens=tuple(package.allergens))


def usual_moisture(food: Food) -> float:
    """Return the moisture that counts when nobody measured it, never more than the fresh food has."""
    return min(target_moisture(food), food.composition.water)


def climate_of(place: Place) -> Climate:
    """Return the usual course of a place."""
    return Climate(place.pk, place.temperature_c, place.winter_c, place.coldest_month, place.humidity)


def usual_seasons(place: Place, packed_on: date) -> tuple[StoreSeason, ...]:
    """Return the course that a package put in a place is going to meet."""
    return seasons_of([(packed_on, climate_of(place))], {}, packed_on, packed_on)


def store_of(package: Package, movements: list[Movement], today: date) -> tuple[StoreSeason, ...]:
    """Return the temperatures of a package from the day of packing on.

    movements: all of the package, oldest first, with their places
    """
    stays = [
        (timezone.localdate(move.at), move.place)
        for move in movements
        if move.place is not None and move.kind in ("packed", "moved")
    ] or [(package.packed_on, package.place)]
    numbers = {place.pk for _, place in stays}
    first = package.packed_on.replace(day=1)
    rows = PlaceMonth.objects.filter(place__in=numbers, month__gte=first)
    readings = {(row.place_id, row.month.year, row.month.month): row.total_c / row.count for row in rows}
    climates = [(since, climate_of(place)) for since, place in stays]
    return seasons_of(climates, readings, min(package.packed_on, today), today)


def facts_of(package: Package, movements: list[Movement], today: date) -> PackageFacts:
    """Return what the page of a package says beside its record.

    movements: all of the package, oldest first, with their places
    """
    food, raw = stored_food(package), package.raw_animal
    if food is None:
        raw_food = marks.raw_cautions(raw, (NO_KILL_STEP, *raw_cautions(COOKING_TARGETS[0])))
        asked = () if NOT_STATED not in package.allergens else (ASK_FOR_ALLERGENS,)
        return PackageFacts(None, (), "", (*raw_food, *asked))
    plan = plan_in(package, food, store_of(package, movements, today))
    if plan is None:
        return PackageFacts(None, (), "", _in_front(raw, *serving_cautions(food)))
    return PackageFacts(
        keeping=plan.keeping,
        soaking=tuple(
            ("hot" if time.hot else "cold", in_words(ranged(duration_text(time.low), duration_text(time.high))))
            for time in plan.soaking
        ),
        how=plan.soaking[0].how,
        cautions=_cautions(package, plan),
        assumed=_assumed(package, plan),
    )


def _cautions(package: Package, plan: PackagePlan) -> tuple[str, ...]:
    """Return the cautions for a package that is packed already."""
    moist = packed_moist_caution(plan.packing.water_activity) if package.left_mass_kg else ""
    return tuple(filter(None, (moist, *_in_front(package.raw_animal, *plan.serving))))


def _in_front(raw_animal: bool | None, *cautions: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*marks.raw_cautions(raw_animal, (NO_KILL_STEP,)), *cautions)))


def _assumed(package: Package, plan: PackagePlan) -> str:
    if package.absorbers or not plan.packing.container.oxygen_barrier:
        return ""
    return msg(
        "No oxygen absorber is recorded for this package, so the time counts on none. With one inside it keeps as long "
        "or longer."
    )


@remembered(KEPT, by_value)
def remembered_plan(pack: PackSpec) -> PackagePlan:
    """Return how food is packed, keeps and is served; worked out once for the same numbers."""
    return package_plan(pack)


def plan_in(package: Package, food: Food, seasons: tuple[StoreSeason, ...]) -> PackagePlan | None:
    """Return how the food of a package keeps in its container, None when the container is not known."""
    if package.container not in containers():
        return None
    box = container(package.container)
    moisture = usual_moisture(food) if package.residual_moisture is None else package.residual_moisture
    pack = PackSpec(
        title=package.name,
        food=food,
        dry_mass=package.net_mass_kg,
        residual_moisture=moisture,
        moisture_given=package.residual_moisture is not None,
        powder=package.powder,
        size=package.size_m or USUAL_SIZE,
        bulk_density=None,
        altitude=records.kitchen().altitude_m,
        temperature=ROOM,
        air_left=1.0,
        margin=1.25,
        keep_for=5 * YEAR,
        packed_on=package.packed_on,
        lot=package.lot,
        container=box,
        count=1,
        seasons=seasons,
        label_notes=(),
        absorbers=bool(package.absorbers),
    )
    try:
        return remembered_plan(pack)
    except InputError:  # fuller than estimated: it was closed, so it fits
        dense = max(10.0, 1.001 * package.net_mass_kg / box.volume)
    try:
        return remembered_plan(replace(pack, bulk_density=dense))
    except DrystowError:
        return None


def serving_of(package: Package, mass_kg: float, units: str) -> dict[str, str]:
    """Return water to add and fresh equivalent of a part of a package, as text."""
    water = package.water_to_add_kg
    if water is None:
        return {"mass": in_words(mass_text(mass_kg, units)), "water": "", "fresh": ""}
    shown = water_back(mass_kg, water * mass_kg / package.net_mass_kg, units)
    return dict(zip(("mass", "water", "fresh"), map(in_words, shown), strict=True))


def contents_of(food: Food, net_mass: float, moisture: float) -> dict[str, Any]:
    """Return what a package holds of a food, as values of a `Package`: water, fresh mass, energy, protein and marks.

    net_mass: dried food in the package [kg]
    moisture: of the dried food, wet basis [-]
    """
    values: dict[str, Any] = {"raw_animal": food.raw_animal, "allergens": list(food.allergens)}
    fresh_water, mass = food.composition.water, net_mass
    if moisture < fresh_water < 1.0:
        mass = float(fresh_equivalent(net_mass, moisture, fresh_water))
        values |= {"fresh_kg": mass, "water_to_add_kg": float(water_to_add(net_mass, moisture, fresh_water))}
    nutrients = per_serving(nutrients_of(food), mass)
    return values | {"energy_kcal": nutrients["energy_kcal"], "protein_g": nutrients["protein_g"]}


def nutrients_of(food: Food) -> dict[str, float]:
    """Return energy and protein per 100 g fresh; of the composition where the food's table has none."""
    parts = {part: getattr(food.composition, part) * 100.0 for part in ENERGY_FACTORS}
    energy = sum(ENERGY_FACTORS[part][1] * grams for part, grams in parts.items())
    return {
        "energy_kcal": food.nutrients.get("energy_kcal", energy),
        "protein_g": food.nutrients.get("protein_g", parts["protein"]),
    }


def days_of_food(energy_kcal: float, protein_g: float, kitchen: Kitchen) -> dict[str, float | None]:
    """Return for how many days the household has energy and protein, None where a day needs none."""
    need = {"energy": kitchen.people * kitchen.energy_kcal_day, "protein": kitchen.people * kitchen.protein_g_day}
    have = {"energy": energy_kcal, "protein": protein_g}
    return {name: have[name] / need[name] if need[name] > 0 else None for name in need}
