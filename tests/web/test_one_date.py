"""A package has one date and one range: every page, list, label, file and answer that speaks of it says the same.

Packages are drawn at random, packed on the packing page, moved and opened on their own page, and looked for everywhere.
"""

import csv
import io
import json
import random
import re
import tomllib
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import openpyxl
import pytest
from django.test import Client

from drystow.days import MONTHS
from drystow.foods import table
from drystow.packing.containers import containers
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.models import Batch
from drystow.web.foods.models import Recipe
from drystow.web.kit import records
from drystow.web.pantry.models import Package
from tests.cli.run import ROOT, drystow
from tests.engine.pdf_reading import page_texts
from tests.web.batch_rows import a_batch, an_item
from tests.web.pantry_rows import place, today

FOODS = (
    "Strawberries, raw", "Carrots, raw", "Chicken, breast, boneless, skinless, raw", "Cheese, cheddar",
    "Milk, whole", "Basil, fresh", "Fish, salmon, Atlantic, wild, raw", "Corn, sweet, yellow, raw",
)  # fmt: skip
PACKS = sorted((ROOT / "examples" / "packing").glob("*.toml"))
SILENT = ("packing", "done", "lot")  # pages that may say nothing of a packed package's date
DAY = re.compile(r"\b(" + "|".join(MONTHS) + r") (\d{1,2}), (\d{4})")
TERM = r"(?:more than )?\d+(?: days| months| years)?"
RANGES = (
    re.compile(rf"({TERM}(?: to {TERM})?) before (it[a-z ]+?) \("),
    re.compile(rf"(at) least ({TERM}); a storage study"),
    re.compile(rf"(check) it after ({TERM})"),
)


def days_in(text: str) -> set[date]:
    """Every date that stands in a text as people write it."""
    months = [str(month) for month in MONTHS]
    return {date(int(year), months.index(month) + 1, int(day)) for month, day, year in DAY.findall(text)}


def ranges_in(text: str) -> set[tuple[str, str]]:
    """Every time in a text for which something keeps or after which to check it."""
    return {found for pattern in RANGES for found in pattern.findall(text)}


def words(page: bytes) -> str:
    """The text of a page's main part, without what is folded away."""
    html = page.decode().replace("\N{NO-BREAK SPACE}", " ")
    main = html[html.index("<main") : html.index("</main>")]
    return " ".join(re.sub(r"<[^>]+>", " ", re.sub(r"<details.*?</details>", "", main, flags=re.S)).split())


def packed(client: Client, chance: random.Random, *, even: bool = False) -> tuple[Batch, str]:
    """A batch with one packed food, kept `even`ly warm or not, and what the packing page said before."""
    batch = a_batch(stage="packing")
    item = an_item(batch, table.find(chance.choice(FOODS), 1)[0])
    cellar = place(f"Cellar {batch.pk}", temperature_c=chance.choice((4.0, 15.0, 21.0, 29.0)))
    shed = place(f"Shed {batch.pk}", temperature_c=27.0, winter_c=chance.choice((None, 2.0)))
    where = cellar if even else chance.choice((cellar, shed))
    kind = chance.choice([name for name, box in containers().items() if box.volume < 0.005])
    day = today() - timedelta(days=chance.randrange(1, 300))
    data = {
        "item": item.pk, "version": 1, "dry": f"{chance.randrange(15, 35)} g", "container": kind, "count": 1,
        "moisture": f"{chance.choice((1.5, 3, 6)):g}%", "place": where.pk,
        "packed_on": day.isoformat(), "confirmed": "on",
    }  # fmt: skip
    address = f"/batches/{batch.pk}/packing/"
    before = client.post(f"{address}plan/", data)
    assert client.post(f"{address}pack/", data).status_code == 302
    return batch, words(before.content)


def told(client: Client, batch: Batch, package: Package) -> Iterator[tuple[str, set[date], set[tuple[str, str]]]]:
    """Yield (where, dates, ranges) for every output that speaks of a package."""
    pages = (
        f"/pantry/p/{package.code}/", f"/pantry/lot/{package.lot}/", "/pantry/", "/pantry/?by=food",
        "/pantry/list/", f"/batches/{batch.pk}/labels/", f"/batches/{batch.pk}/packing/", f"/batches/{batch.pk}/done/",
    )  # fmt: skip
    for address in pages:
        answer = client.get(address)
        assert answer.status_code == 200, address
        text = words(answer.content)
        yield address, days_in(text), ranges_in(text)
    address = f"/foods/recipes/{a_recipe_with(package)}/"
    text = words(client.get(address).content).partition("From the pantry")[2]
    assert package.lot in text
    yield address, days_in(text), ranges_in(text)
    for address in (f"/batches/{batch.pk}/labels.pdf?sheet=letter-2x5", "/pantry/list.pdf"):
        text = " ".join(page_texts(client.get(address).content))
        ticks = {day for day in days_in(text) if day <= today()} if "list" in address else set()  # the picture
        yield address, days_in(text) - (ticks - {package.best_before}), ranges_in(text)
    header = {"Authorization": f"Bearer {new_token(f'screen {package.code}', 'read')[1]}"}
    for address in (f"/api/v1/packages/{package.code}", "/api/v1/packages"):
        text = client.get(address, headers=header).content.decode()
        found = json.loads(text)
        row = found if "results" not in found else next(one for one in found["results"] if one["code"] == package.code)
        if row["keeps"] is not None:
            ends = [date.fromisoformat(text) for text in (row["keeps"]["since"], row["best_before"])]
            assert row["keeps"]["days"][0] == max(0, (ends[1] - ends[0]).days)
        yield (
            address,
            {date.fromisoformat(row["best_before"])} if row["best_before"] else set(),
            ranges_in(text),
        )
    sheet = client.get("/data/tables/packages.csv")
    rows = list(csv.DictReader(io.StringIO(b"".join(sheet.streaming_content).decode("utf-8-sig"))))  # type: ignore[attr-defined]
    cell = next(row["Best before"] for row in rows if row["Code"] == package.code)
    yield "csv", {date.fromisoformat(cell)} if cell else set(), set()
    book = client.get("/data/tables/packages.xlsx")
    body = b"".join(book.streaming_content) if book.streaming else book.content  # type: ignore[attr-defined]
    titles, *lines = openpyxl.load_workbook(io.BytesIO(body)).active.iter_rows(values_only=True)
    line = dict(zip(titles, next(row for row in lines if package.code in row), strict=True))
    value = line["Best before"]
    yield "xlsx", {value.date() if isinstance(value, datetime) else value} if value else set(), set()


def a_recipe_with(package: Package) -> int:
    """The number of a recipe to cook that takes food from a package."""
    made = Recipe.objects.filter(name=f"Soup of {package.code}").first()
    if made is None:
        line = {"food": package.food, "name": package.name, "mass_kg": 0.05}
        made = records.create(Recipe(name=f"Soup of {package.code}", use="cook", servings=4, ingredients=[line]))
    return int(made.pk)


def pack_file(package: Package) -> str:
    """A package of a place of one temperature as a person writes it for the command line."""
    moisture, size, warmth = package.residual_moisture or 0.0, package.size_m or 0.0, package.place.temperature_c
    return f"""
dry_mass = "{package.net_mass_kg} kg"
residual_moisture = "{100 * moisture} %"
size = "{1000 * size} mm"
keep_for = "5 year"
packed_on = {package.packed_on}
lot = "{package.lot}"
[food]
name = "{package.name}"
[container]
kind = "{package.container}"
count = 1
[storage]
temperature = "{warmth} degC"
humidity = "{100 * package.place.humidity} %"
"""


def check_command_line(file: Path, folder: Path) -> tuple[date, set[tuple[str, str]]]:
    """The one date and the range that `drystow pack` and `drystow label` give of a pack file, as text, JSON and PDF."""
    text = " ".join(drystow("pack", file).stdout.split())
    data = json.loads(drystow("pack", file, "--json").stdout)
    day, keeping = date.fromisoformat(data["keeping"]["best_before"]), data["keeping"]
    packed_on = tomllib.loads(file.read_text(encoding="utf-8"))["packed_on"]
    assert packed_on + timedelta(days=keeping["low_days"]) == day
    assert days_in(text) == {day}
    ranges = ranges_in(text)
    assert len(ranges) == 1
    assert ranges_in(keeping["text"]) == ranges
    pdf = folder / f"{file.stem}.pdf"
    label = ("label", file, "-o", pdf, "--sheet", "letter-2x5", "--count", "1")
    for printed in (drystow(*label), drystow(*label, "--json")):
        assert printed.returncode == 0, printed.stderr
        assert days_in(printed.stdout) <= {day, packed_on}
    assert days_in(" ".join(page_texts(pdf.read_bytes()))) == {day, packed_on}
    return day, ranges


def check_everywhere(client: Client, batch: Batch, package: Package) -> None:
    """One date and one range, whatever is asked."""
    others = {package.packed_on, today(), *([package.opened_on] if package.opened_on else [])}
    spans = set()
    for where, dates, ranges in told(client, batch, package):
        wrong = dates - others - {package.best_before}
        assert not wrong, f"{where} says {wrong}; the package says {package.best_before}"
        if package.best_before and package.state in ("stored", "open"):
            assert package.best_before in dates or any(part in where for part in SILENT), f"{where} says no date"
        spans |= ranges
    assert len(spans) == (1 if package.best_before and package.best_before >= today() else len(spans) and 1), spans


@pytest.mark.parametrize("seed", range(14))
def test_every_output_gives_the_same_date_and_range(client: Client, seed: int) -> None:
    """Crawled closed, after a move, and after opening; the range on the packing page is that of the closed package."""
    chance = random.Random(seed)
    batch, before = packed(client, chance)
    package = Package.objects.get(batch=batch)
    assert days_in(before) - {today()} == ({package.best_before} if package.best_before else set())
    check_everywhere(client, batch, package)
    if seed % 2:
        there = place(f"Elsewhere {seed}", temperature_c=33.0)
        client.post(f"/pantry/p/{package.code}/move/", {"version": package.version, "place": there.pk})
        package.refresh_from_db()
        check_everywhere(client, batch, package)
    closed = package.best_before
    client.post(f"/pantry/p/{package.code}/open/", {"version": package.version})
    package.refresh_from_db()
    assert package.state == "open"
    assert (package.best_before is None) == (closed is None)
    assert package.best_before is None or closed is None or package.best_before <= closed
    check_everywhere(client, batch, package)


def test_the_packing_page_and_the_package_page_give_the_same_range(client: Client) -> None:
    batch, before = packed(client, random.Random(3))  # a package with a date
    package = Package.objects.get(batch=batch)
    page = words(client.get(f"/pantry/p/{package.code}/").content)
    assert len(ranges_in(before)) == 1
    assert ranges_in(before) == ranges_in(page)


def test_taking_back_the_opening_brings_the_closed_date_back(client: Client) -> None:
    batch, _ = packed(client, random.Random(3))  # a package with a date
    package = Package.objects.get(batch=batch)
    client.post(f"/pantry/p/{package.code}/open/", {"version": package.version})
    opened = Package.objects.get(batch=batch)
    assert opened.best_before != package.best_before
    last = records.history(opened).first()
    client.post(f"/undo/{last.pk}/", {"next": "/pantry/"})
    back = Package.objects.get(batch=batch)
    assert (back.best_before, back.best_until, back.state) == (package.best_before, package.best_until, "stored")


@pytest.mark.parametrize("file", PACKS, ids=lambda file: file.stem)
def test_the_command_line_gives_one_date_and_range_of_a_pack_file(file: Path, tmp_path: Path) -> None:
    check_command_line(file, tmp_path)


@pytest.mark.parametrize("seed", range(6))
def test_the_command_line_gives_the_date_of_the_page(client: Client, tmp_path: Path, seed: int) -> None:
    """For the same food, container, day and store."""
    batch, before = packed(client, random.Random(seed), even=True)
    package = Package.objects.get(batch=batch)
    file = tmp_path / "pack.toml"
    file.write_text(pack_file(package), encoding="utf-8")
    if package.best_before is None:
        assert json.loads(drystow("pack", file, "--json").stdout)["keeping"]["best_before"] is None
    else:
        assert check_command_line(file, tmp_path) == (package.best_before, ranges_in(before))
