"""From the rows of a season to the garden that the engine tries out."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, time

from drystow.foods.model import Food
from drystow.machine.load import RigSpec, TraySpec
from drystow.machine.sampling import UNCALIBRATED, Calibration
from drystow.planning.load.basket import WHOLE
from drystow.planning.schedule.arrivals import ArrivalSpec, DryerSpec, PlanSpec
from drystow.planning.schedule.plan_file import USUAL_PROGRAM
from drystow.planning.season import garden as engine
from drystow.planning.season.garden import ChoiceSpec, Garden, GardenCrop, GardenSpec
from drystow.planning.season.garden_file import STEP
from drystow.web.batches.adapters import usual_program
from drystow.web.dryers.lessons import calibration_for, read_lessons
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import foods_of
from drystow.web.kit.answers import fingerprint
from drystow.web.kit.models import Kitchen
from drystow.web.kit.records import kitchen
from drystow.web.plans.adapters import with_price
from drystow.web.plans.models import Choice, Crop, PlanDryer, Season
from drystow.web.plans.spec import dryer_spec_of, lot_names, rules_of


@dataclass(frozen=True)
class SeasonBasis:
    """All that a season rests on, as it stands in the database.

    season: weeks, hours, rounds
    crops: what ripens
    choices: of dryers
    foods: by reference
    dryers: of the kitchen, by number, those that are not in the bin
    known: what each of them has learned
    kitchen: its price of a kilowatt-hour
    """

    season: Season
    crops: tuple[Crop, ...]
    choices: tuple[Choice, ...]
    foods: Mapping[str, Food]
    dryers: Mapping[int, Dryer]
    known: Mapping[int, Calibration]
    kitchen: Kitchen


def season_basis(season: Season) -> SeasonBasis:
    """Return all that a season rests on; raises `InputError` when a food or recipe is not there any more."""
    crops = tuple(Crop.objects.kept().filter(season=season))
    choices = tuple(Choice.objects.kept().filter(season=season))
    numbers = {row["dryer"] for choice in choices for row in choice.dryers if "dryer" in row}
    rows = Dryer.objects.kept().filter(pk__in=numbers)
    dryers = {row.pk: row for row in rows}
    read_lessons(dryers.values())
    return SeasonBasis(
        season=season,
        crops=crops,
        choices=choices,
        foods=foods_of(crop.food for crop in crops),
        dryers=dryers,
        known={pk: calibration_for(row) for pk, row in dryers.items()},
        kitchen=kitchen(),
    )


def garden_of(basis: SeasonBasis) -> Garden:
    """Return the garden that the engine tries out; raises `InputErrors` with all that it refuses.

    basis: of the season
    """
    return engine.garden_of(garden_spec_of(basis))


def garden_spec_of(basis: SeasonBasis) -> GardenSpec:
    """Return a season as the engine is asked for it, rows in the order of the records.

    basis: of the season
    """
    season = basis.season
    kitchen = PlanSpec(
        begin=datetime.combine(season.begin, time()),
        dryers=(),
        arrivals=(),
        days=1,
        step=STEP,
        home=season.home,
        tariff=season.tariff or {"price": basis.kitchen.tariff_per_kwh},
        freezer=season.freezer_m3,
        rules=rules_of(season.apart),
    )
    crops = [
        GardenCrop(
            arrival=ArrivalSpec(
                name=name,
                tray=TraySpec(basis.foods[crop.food], WHOLE, crop.size_m, crop.shape),
                mass=1.0,
                arrives=kitchen.begin,
                tray_mass=crop.tray_kg,
                value=crop.value_per_kg,
            ),
            first=crop.first,
            peak=crop.peak,
            last=crop.last,
            mass=crop.mass_kg,
            uncertain=crop.uncertain,
            per_week=crop.per_week,
        )
        for name, crop in zip(lot_names(basis.crops), basis.crops, strict=True)
    ]
    return GardenSpec(
        kitchen=kitchen,
        crops=tuple(crops),
        choices=tuple(
            ChoiceSpec(choice.name, _dryers(basis, choice), choice.price, choice.years) for choice in basis.choices
        ),
        title=season.title,
        weeks=season.weeks,
        seed=season.seed,
        rounds=season.rounds,
    )


def season_mark(basis: SeasonBasis) -> str:
    """Return a hash of all that the answer of a season rests on.

    basis: of the season
    """
    rows = (basis.season, basis.crops, basis.choices, basis.dryers, with_price(basis.kitchen, basis.season.tariff))
    names = {pk: row.name for pk, row in basis.dryers.items()}
    return fingerprint(*rows, basis.foods, basis.known, names)


def dryer_names(basis: SeasonBasis, choice: Choice) -> list[str]:
    """Return the dryers of a choice as they are called, several of one kind numbered.

    basis: of the season
    choice: one of its choices
    """
    return [dryer.name for dryer in _dryers(basis, choice)]


def _dryers(basis: SeasonBasis, choice: Choice) -> tuple[DryerSpec, ...]:
    specs: list[DryerSpec] = []
    for row in choice.dryers:
        if row.get("dryer") in basis.dryers:
            dryer = basis.dryers[row["dryer"]]
            known = basis.known.get(dryer.pk, UNCALIBRATED)
            spec = dryer_spec_of(PlanDryer(dryer=dryer, program=usual_program(dryer)), known)
        elif "dryer" not in row:
            profile = row.get("profile", "")
            spec = DryerSpec(profile, RigSpec(profile, shelf=USUAL_PROGRAM))
        else:
            continue
        taken = [one.name for one in specs]
        name, count = spec.name, 1
        while name in taken:
            count += 1
            name = f"{spec.name} {count}"
        specs.append(replace(spec, name=name))
    return tuple(specs)
