"""Trays are numbered as the dryer has them: two foods on a tray share its number and are told apart by their names."""

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drystow.errors import InputErrors
from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.reports.batch_sheet import batch_sheet_pdf
from drystow.reports.charts import drying_chart, temperature_chart
from drystow.reports.plain_data import load_json
from drystow.reports.timeline import timeline, tray_count, tray_name
from tests.cli.run import drystow
from tests.engine.pdf_reading import page_texts

FOODS = ("Blueberries, raw", "Carrots, raw", "Apples, raw, without skin", "Strawberries, raw")
TRAYS, AREA = 4, 0.10  # of the dryer below [-], [m2]
NAMED = re.compile(r"\b[Tt]rays? ((?:\d+(?: \([^)]*\))?(?:, )?)+)")
COUNTED = re.compile(r"\b(\d+) trays\b")


def table_of(lying: list[list[int]], written: bool) -> dict[str, Any]:
    """A load with some foods on each tray, from the top."""
    rows = []
    for number, foods in enumerate(lying, start=1):
        for food in foods:
            row: dict[str, Any] = {"food": FOODS[food], "mass": f"{0.3 / len(foods):.4f} kg", "size": "6 mm"}
            row["area"] = f"{AREA / len(foods):.6f} m^2"
            rows.append({"tray": number, **row} if written else row)
    dryer = {"profile": "bench-4", "trays": TRAYS, "tray_area": f"{AREA} m^2"}
    return {"dryer": dryer, "program": {"shelf": ["10 degC until dry"]}, "tray": rows}


def numbers_in(text: str) -> set[int]:
    """Every number of a tray, and every count of trays, in a text."""
    named = [number for match in NAMED.findall(text) for number in re.findall(r"\d+", re.sub(r"\([^)]*\)", "", match))]
    return {int(number) for number in (*named, *COUNTED.findall(text))}


@settings(max_examples=6, deadline=None)
@given(
    lying=st.lists(st.lists(st.integers(0, 3), min_size=1, max_size=3, unique=True), min_size=1, max_size=TRAYS),
    written=st.booleans(),
)
def test_no_output_has_a_number_above_the_trays_and_every_item_has_that_of_its_tray(
    lying: list[list[int]], written: bool
) -> None:
    load = parse_load(table_of(lying, written))
    on = [number for number, foods in enumerate(lying, start=1) for _food in foods]
    assert [item.tray for item in load.items] == on
    result = simulate(load)
    assert [tray.tray for tray in result.trays] == on
    data = json.loads(json.dumps(load_json(result)))
    assert [tray["tray"] for tray in data["trays"]] == on
    assert all(event["tray"] is None or event["tray"] == on[event["item"]] for event in data["events"])
    count = len(lying)
    assert str(tray_count(result)) == ("1 tray" if count == 1 else f"{count} trays")
    told = " ".join(row.what for row in timeline(result))
    assert numbers_in(told) <= set(range(1, count + 1))
    if len(on) > 1:
        named = [str(tray_name(result, number)) for number in range(len(on))]
        assert [int(re.findall(r"\d+", name)[0]) for name in named] == on
        assert max(Counter(named).values()) == 1  # told apart by the food
    for chart in (drying_chart, temperature_chart):
        spec = json.dumps(chart(result), default=str)
        for number, tray in zip(on, result.trays, strict=True):
            assert f"{number} {tray.name}" in spec
        assert not any(f"{number} {food}" in spec for number in range(count + 1, 13) for food in FOODS)
    sheet = " ".join(" ".join(page_texts(batch_sheet_pdf(result))).split())
    assert numbers_in(sheet) <= set(range(1, count + 1))
    for food in {tray.name for tray in result.trays}:
        numbers = {int(number) for number in re.findall(rf"(\d+) {re.escape(food)}", sheet)}
        assert numbers == {number for number, tray in zip(on, result.trays, strict=True) if tray.name == food}


def test_the_command_line_numbers_trays(tmp_path: Path) -> None:
    rows = "".join(
        f'[[tray]]\ntray = {number}\nfood = "{food}"\nmass = "0.1 kg"\nsize = "6 mm"\narea = "0.05 m^2"\n'
        for number in (1, 3)
        for food in FOODS[:2]
    )
    path = tmp_path / "load.toml"
    path.write_text(f'[dryer]\nprofile = "bench-4"\n[program]\nshelf = ["10 degC until dry"]\n{rows}', encoding="utf-8")
    shown = drystow("simulate", path, "--members", "20").stdout
    assert "2 trays" in shown
    assert numbers_in(shown) == {1, 2, 3}  # 2 of them
    assert re.findall(r"^ +(\d) +(?:Blue|Carr)", shown, re.MULTILINE) == ["1", "1", "3", "3"]


def test_without_numbers_items_share_trays_when_there_are_more_than_trays() -> None:
    """Seven pieces of 0.6 of a tray and less fill four trays, whatever their order."""
    table = table_of([[0], [0], [0], [0]], False)
    row = table["tray"][0]
    shares = (0.6, 0.6, 0.4, 0.3, 0.6, 0.6, 0.4)
    table["tray"] = [{**row, "mass": "0.05 kg", "area": f"{AREA * share:.4f} m^2"} for share in shares]
    items = parse_load(table).items
    assert {item.tray for item in items} == {1, 2, 3, 4}


@pytest.mark.parametrize("wrong", [0, 5, "two", 1.5, True])
def test_a_number_that_the_dryer_has_not_is_refused(wrong: object) -> None:
    table = table_of([[0]], False)
    table["tray"][0]["tray"] = wrong
    with pytest.raises(InputErrors, match=r"tray\[1\].tray: .* is not possible; write a whole number from 1 to 4"):
        parse_load(table)
