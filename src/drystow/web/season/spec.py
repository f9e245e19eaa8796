"""From the rows of a season to the garden that the engine tries out."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from drystow.foods.model import Food
from drystow.machine.sampling import Calibration
from drystow.planning.season.garden import Garden
from drystow.planning.season.garden_file import parse_garden
from drystow.units import SI
from drystow.web.batches.adapters import usual_program
from drystow.web.dryers.lessons import calibration_for, read_lessons
from drystow.web.dryers.models import Dryer
from drystow.web.foods.spec import foods_of
from drystow.web.kit.fingerprints import fingerprint
from drystow.web.kit.models import Kitchen
from drystow.web.kit.records import kitchen
from drystow.web.plans.adapters import with_price
from drystow.web.plans.lots_table import cut_table, dryer_table, lot_names
from drystow.web.plans.models import Choice, Crop, PlanDryer, Season


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
    garden = parse_garden(garden_table(basis))
    choices = []
    for choice, row in zip(garden.choices, basis.choices, strict=True):
        known = [basis.known.get(one.get("dryer", 0)) for one in _there(basis, row)]
        dryers = tuple(
            dryer if calibrated is None else replace(dryer, known=calibrated)
            for dryer, calibrated in zip(choice.frame.dryers, known, strict=True)
        )
        choices.append(replace(choice, frame=replace(choice.frame, dryers=dryers)))
    return replace(garden, choices=tuple(choices))


def garden_table(basis: SeasonBasis) -> dict[str, Any]:
    """Return a season as the table of a garden file, with values where a file has texts.

    Rows stand in the order of the records.

    basis: of the season
    """
    season = basis.season
    return {
        "title": season.title,
        "begin": season.begin,
        "weeks": season.weeks,
        "rounds": season.rounds,
        "seed": season.seed,
        "home": season.home,
        "tariff": season.tariff or {"price": basis.kitchen.tariff_per_kwh},
        "freezer": {"space": SI(season.freezer_m3, "volume")},
        "rules": {"apart": ["germs", *(rule for rule in season.apart if rule != "germs")]},
        "crop": [
            cut_table(crop, basis.foods[crop.food])
            | {
                "name": name,
                "first": crop.first,
                "peak": crop.peak,
                "last": crop.last,
                "mass": SI(crop.mass_kg, "mass"),
                "uncertain": crop.uncertain,
                "per_week": crop.per_week,
            }
            for name, crop in zip(lot_names(basis.crops), basis.crops, strict=True)
        ],
        "choice": [
            {
                "name": choice.name,
                "price": choice.price,
                "years": choice.years,
                "dryer": _dryers(basis, choice),
            }
            for choice in basis.choices
        ],
    }


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
    return [row["name"] for row in _dryers(basis, choice)]


def _there(basis: SeasonBasis, choice: Choice) -> list[dict[str, Any]]:
    return [row for row in choice.dryers if "dryer" not in row or row["dryer"] in basis.dryers]


def _dryers(basis: SeasonBasis, choice: Choice) -> list[dict[str, Any]]:
    tables: list[dict[str, Any]] = []
    for row in _there(basis, choice):
        table: dict[str, Any] = {"name": row.get("profile", ""), "profile": row.get("profile", "")}
        if "dryer" in row:
            dryer = basis.dryers[row["dryer"]]
            table = dryer_table(PlanDryer(dryer=dryer, program=usual_program(dryer)))
        taken = [one["name"] for one in tables]
        name, count = table["name"], 1
        while name in taken:
            count += 1
            name = f"{table['name']} {count}"
        tables.append(table | {"name": name})
    return tables
