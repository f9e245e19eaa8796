"""A package from closing to the plate, and its labels."""

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from drystow.errors import InputError
from drystow.keeping.limits import evidence_word
from drystow.keeping.shelf_life import AT_LEAST, LIMIT, UNKNOWN
from drystow.messages import Reader, told
from drystow.packing.packfile import parse_pack, read_pack
from drystow.reports.labels import label_pdf
from drystow.reports.package_plan import PackagePlan, oxygen_reason, package_labels, package_plan, plan_sentences
from drystow.reports.sheets import SHEETS
from tests.engine.pdf_reading import page_texts

EXAMPLES = sorted((Path(__file__).parents[2] / "examples" / "packing").glob("*.toml"))
RAW = """
dry_mass = "240 g"
residual_moisture = "2%"
packed_on = 2027-03-12
lot = "R1"
[food]
name = "Own raw chicken"
class = "meat"
raw_animal = true
[food.composition]
water = 0.74
protein = 0.23
fat = 0.02
ash = 0.01
"""


def plan(text: str = RAW) -> PackagePlan:
    return package_plan(parse_pack(text))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_gives_a_plan_as_data_and_in_sentences(path: Path) -> None:
    made = package_plan(read_pack(path))
    data = json.loads(json.dumps(made.as_dict(), allow_nan=False))
    assert data["containers"]["count"] * data["containers"]["dry_mass_each_kg"] == pytest.approx(
        made.packing.pack.dry_mass, rel=1e-6
    )
    word = evidence_word(data["keeping"]["evidence"])
    verdict, sentences = data["keeping"]["verdict"], plan_sentences(made)
    beginning = {LIMIT: "Keeps ", AT_LEAST: "Keeps at least", UNKNOWN: "How long it keeps is not known"}[verdict]
    assert any(sentence.startswith(beginning) for sentence in sentences)
    assert data["keeping"]["text"].endswith(f"({word})") or verdict != LIMIT
    assert (data["keeping"]["high_days"] is None) == (verdict != LIMIT)
    dated = "Check by" if verdict == UNKNOWN else "Best before"
    assert [word in sentence for sentence in sentences if dated in sentence] == [True]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_oxygen_is_a_reason_and_not_among_the_answers(path: Path) -> None:
    made = package_plan(read_pack(path))
    assert not any(" of oxygen " in sentence or "Oxygen in" in sentence for sentence in plan_sentences(made))
    reason = oxygen_reason(made)
    assert reason.startswith("The absorber must bind " if made.packing.absorbers.sachets else "Each holds ")
    closed, later = re.findall(r"([\d,.]+) mL", told(reason, Reader(units="si")))
    assert float(closed.replace(",", "")) == pytest.approx(made.packing.oxygen_ml, abs=0.6)
    assert float(later.replace(",", "")) == pytest.approx(made.packing.ingress_ml, abs=0.6)


def test_water_and_fresh_mass_follow_from_the_solids() -> None:
    made = plan()
    each = made.packing.filling.mass_each
    # the solids are the same before and after: each x 0.98 = fresh x 0.26
    assert made.fresh_equivalent == pytest.approx(each * 0.98 / 0.26)
    assert made.water_to_add == pytest.approx(each * 0.98 / 0.26 - each)


def test_raw_animal_food_is_marked_on_every_label_and_in_the_cautions() -> None:
    made = plan()
    labels = package_labels(made)
    assert len(labels) == made.packing.filling.count
    assert all("COOK BEFORE EATING" in " ".join(label.cautions) for label in labels)
    assert any("cook the middle to 74 °C (165 °F)" in caution for caution in made.cautions)
    assert "COOK BEFORE EATING" in page_texts(label_pdf(labels, SHEETS["letter-3x10"]))[0]


def test_the_label_carries_the_evidence_of_its_date() -> None:
    made = plan()
    label = package_labels(made)[0]
    assert made.keeps is not None
    assert label.best_before == made.keeps.best_before
    assert label.best_before_basis == made.keeping.evidence
    assert made.as_dict()["keeping"]["best_before"] == str(label.best_before)


def test_moist_food_gets_a_warning_and_no_date() -> None:
    made = plan(RAW.replace('"2%"', '"25%"'))
    assert any("Not dry enough" in warning for warning in made.packing.warnings)
    assert package_labels(made)[0].best_before is None
    assert not any("Best before" in sentence for sentence in plan_sentences(made))
    assert json.dumps(made.as_dict(), allow_nan=False)


def test_a_later_day_of_packing_moves_the_date() -> None:
    made = plan()
    early, late = (package_labels(made, packed_on=day)[0] for day in (date(2027, 3, 12), date(2027, 4, 11)))
    assert early.best_before is not None
    assert late.best_before is not None
    assert (late.best_before - early.best_before).days == 30


def test_labels_need_day_and_lot() -> None:
    bare = package_plan(replace(parse_pack(RAW), packed_on=None, lot=""))
    with pytest.raises(InputError, match="needs the day of packing"):
        package_labels(bare)
    with pytest.raises(InputError, match="needs a lot number"):
        package_labels(bare, packed_on=date(2027, 3, 12))
    assert len(package_labels(bare, packed_on=date(2027, 3, 12), lot="L1", count=7)) == 7
