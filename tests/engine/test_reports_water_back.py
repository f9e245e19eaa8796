"""Putting water back: what is said to come out is the sum of what is shown going in, wherever it is said."""

import json
import re
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drystow.packing.packfile import parse_pack
from drystow.reports.labels import Label, label_pdf
from drystow.reports.package_plan import package_plan, plan_sentences
from drystow.reports.sheets import SHEETS
from drystow.reports.text import water_back
from tests.cli.run import drystow
from tests.engine.pdf_reading import page_texts

SHOWN = re.compile(r"(\d[\d,]*(?:\.(\d+))?)[  ](kg|g|mL|lb|oz)\b(?:[  ]\(about ([^)]*)\))?")
CUP = 0.2365882365
KILOGRAMS = {"kg": 1.0, "g": 0.001, "mL": 0.001, "lb": 0.45359237, "oz": 0.45359237 / 16}
"""Of a unit: pound and ounce (NIST Handbook 44, appendix C), a milliliter and a US cup of water of 1 kg/L."""
CUPS = {"cups": CUP, "cup": CUP, "tbsp": CUP / 16}


def check_sum(*texts: str) -> None:
    """Dried food and water as a cook reads them give the fresh food as a cook reads it, to its last digit."""
    dried, water, fresh = (SHOWN.findall(text)[0] for text in texts)
    taken = sum(float(number.replace(",", "")) * KILOGRAMS[unit] for number, _below, unit, _cups in (dried, water))
    digits, unit = len(fresh[1]), fresh[2]
    half = 0.5 * 10**-digits
    assert abs(taken / KILOGRAMS[unit] - float(fresh[0].replace(",", ""))) <= half * 1.001, texts
    if unit in ("g", "kg"):
        assert taken == pytest.approx(float(fresh[0].replace(",", "")) * KILOGRAMS[unit], abs=1e-9), texts
        assert not water[3], texts
        return
    *numbers, measure = water[3].replace(",", "").split()
    weighed = float(water[0].replace(",", "")) * KILOGRAMS[water[2]]
    measured = float(sum(map(Fraction, numbers))) * CUPS[measure]
    near = CUP / 64 if measure == "tbsp" else CUP / 16  # a quarter of a spoon, and a spoon beside a cup
    assert measured == pytest.approx(weighed, rel=0.13, abs=near + 0.06 * KILOGRAMS["oz"]), texts


@example(dry=0.0078125, water=0.015625, units="si")
@given(dry=st.floats(0.003, 20.0), water=st.floats(0.0, 100.0), units=st.sampled_from(["us", "si"]))
def test_the_shown_numbers_add_up(dry: float, water: float, units: str) -> None:
    shown = water_back(dry, water, units)
    check_sum(*shown)
    for text, mass in zip(shown, (dry, water, dry + water), strict=True):
        number, below, unit, _cups = SHOWN.findall(text)[0]
        step = 10 ** -len(below) * KILOGRAMS[unit]
        assert float(number.replace(",", "")) * KILOGRAMS[unit] == pytest.approx(mass, abs=2 * step + 0.006 * mass)


def test_us_units_show_cups_without_grams_beside_them() -> None:
    assert not re.search(r"\b(g|mL|kg)\b", " ".join(water_back(0.2112, 0.6129, "us")))


@pytest.mark.parametrize("units", ["us", "si"])
@pytest.mark.parametrize("mass", [3.3, 48.6, 211.2, 612.5, 999.6, 1043.4])
def test_labels_plans_and_the_command_add_up(mass: float, units: str) -> None:
    text = f'dry_mass = "{mass} g"\nresidual_moisture = "2 %"\n[food]\nname = "Strawberries, raw"\n[container]\n'
    pack = replace(parse_pack(text + 'kind = "bucket-5-gallon-liner"'), packed_on=date(2027, 3, 12), lot="A1")
    plan = package_plan(pack)
    (serve,) = (line for line in plan_sentences(plan, units) if line.startswith("To serve"))
    amounts = [match[0] for match in SHOWN.finditer(serve)]
    check_sum(*amounts)
    label = Label("Strawberries", date(2027, 3, 12), "A1", mass / 1000, water_to_add=plan.water_to_add, qr=False)
    (printed,) = page_texts(label_pdf([label], SHEETS["roll-100x50"], units))
    net, added, fresh = (
        re.search(words + SHOWN.pattern, printed)[0]  # type: ignore[index]
        for words in (r"Net (?:wt|weight) ", "Add ", "From ")
    )
    check_sum(net, added, fresh)
    asked = drystow("rehydrate", "Strawberries, raw", "--fresh", f"{10 * mass} g", "--units", units).stdout
    fresh, dried, water = (match[0] for match in SHOWN.finditer(asked.splitlines()[0]))
    check_sum(dried, water, fresh)


def test_plain_data_add_up() -> None:
    swap = json.loads(drystow("rehydrate", "Strawberries, raw", "--fresh", "839 g", "--json").stdout)
    assert swap["dried_kg"] + swap["water_kg"] == pytest.approx(swap["fresh_kg"], rel=1e-9)
    assert swap["water_ml"] == pytest.approx(1000 * swap["water_kg"], rel=1e-9)
    pack = json.loads(drystow("pack", "examples/packing/strawberries.toml", "--json").stdout)
    each, serving = pack["containers"]["dry_mass_each_kg"], pack["serving"]
    assert each + serving["water_to_add_kg"] == pytest.approx(serving["fresh_equivalent_kg"], rel=1e-9)
