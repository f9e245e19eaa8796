"""``drystow pack``, ``label``, ``rehydrate`` and ``food`` on the examples."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.cli.run import ROOT, drystow

PACKS = sorted((ROOT / "examples" / "packing").glob("*.toml"))


@pytest.mark.parametrize("path", PACKS, ids=lambda path: path.stem)
def test_a_pack_file_gives_containers_absorbers_and_a_life_with_its_evidence(path: Path) -> None:
    done = drystow("pack", path)
    assert done.returncode == 0, done.stderr
    assert "of oxygen in each when sealed" in " ".join(done.stdout.split())
    assert "study" in done.stdout
    data = json.loads(drystow("pack", path, "--json").stdout)
    assert data["absorbers"]["capacity_ml"] >= data["absorbers"]["needed_ml"]
    assert data["keeping"]["evidence"]
    keeping = data["keeping"]
    assert keeping["verdict"] == "limit"
    assert keeping["low_days"] <= keeping["central_days"] <= keeping["high_days"]
    assert keeping["limits"][0]["name"] == keeping["limit"]


@pytest.mark.parametrize("path", PACKS, ids=lambda path: path.stem)
def test_labels_carry_food_and_basis_of_the_date(path: Path, tmp_path: Path) -> None:
    pdf = tmp_path / "labels.pdf"
    done = drystow("label", path, "-o", pdf, "--sheet", "letter-2x5", "--count", "3")
    assert done.returncode == 0, done.stderr
    text = " ".join(page.extract_text() for page in PdfReader(pdf).pages)
    name = json.loads(drystow("pack", path, "--json").stdout)["food"]
    assert name.split(",")[0] in text.replace("\n", " ")
    assert "storage stud" in text.replace("\n", " ")


OWN = """
dry_mass = "200 g"
packed_on = 2026-09-02
lot = "AL-1"
[food]
name = "Camarones"
like = "fish"
{marks}
composition = {{ water = 0.78, protein = 0.2, ash = 0.02 }}
"""


def test_what_nobody_has_stated_is_called_so_in_text_json_and_label(tmp_path: Path) -> None:
    file, pdf = tmp_path / "pack.toml", tmp_path / "labels.pdf"
    file.write_text(OWN.format(marks=""))
    for answer in (drystow("pack", file).stdout, drystow("pack", file, "--json").stdout):
        text = " ".join(answer.split())
        assert "No one has said whether this is raw meat" in text
        assert "Allergens: not stated. Ask whoever made it." in text
    data = json.loads(drystow("pack", file, "--json").stdout)
    assert (data["raw_animal"], data["allergens"]) == (None, ["not stated"])
    drystow("label", file, "-o", pdf, "--sheet", "letter-2x5", "--count", "1")
    label = " ".join(PdfReader(pdf).pages[0].extract_text().split())
    assert "MAY BE RAW – COOK BEFORE EATING" in label
    assert "Allergens: not stated. Ask whoever made it." in label
    file.write_text(OWN.format(marks='raw_animal = false\nallergens = ["shellfish"]'))
    assert "not stated" not in drystow("pack", file).stdout
    assert json.loads(drystow("pack", file, "--json").stdout)["allergens"] == ["shellfish"]


def test_an_own_sheet_in_inches_and_millimetres(tmp_path: Path) -> None:
    pdf = tmp_path / "own.pdf"
    own = ("--size", "70 mm x 1.5 inch", "--grid", "3x7", "--paper", "a4", "--margin", "0 mm x 10 mm")
    assert drystow("label", PACKS[0], "-o", pdf, *own, "--count", "22").returncode == 0
    assert len(PdfReader(pdf).pages) == 2


def test_a_wrong_sheet_or_folder_writes_nothing(tmp_path: Path) -> None:
    for arguments in (("--sheet", "letter-9x9"), ("--size", "70 mm"), ("--size", "2 mm x 2 mm")):
        done = drystow("label", PACKS[0], "-o", tmp_path / "a.pdf", *arguments)
        assert done.returncode == 2
        assert done.stderr.startswith("Error: ")
    done = drystow("label", PACKS[0], "-o", tmp_path / "no" / "a.pdf")
    assert done.returncode == 2
    assert "create it first" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_food_find_puts_the_raw_fruit_first() -> None:
    data = json.loads(drystow("food", "find", "bluebery", "--json").stdout)
    assert data["foods"][0]["name"] == "Blueberries, raw"


def test_food_show_gives_a_verdict_with_reasons_and_cautions() -> None:
    shown = drystow("food", "show", "chicken", "breast", "raw")
    assert shown.returncode == 0, shown.stderr
    assert "COOK BEFORE EATING" in shown.stdout
    butter = json.loads(drystow("food", "show", "butter,", "salted", "--json").stdout)
    assert butter["verdict"] == "no"
    assert any("Fat does not dry" in reason for reason in butter["reasons"])


def test_food_show_calls_parts_and_marks_as_readers_do_and_keeps_the_keys_in_json() -> None:
    shown = drystow("food", "show", "Kiwifruit, green, raw")
    assert shown.returncode == 0, shown.stderr
    assert "fiber" in shown.stdout
    assert "while drying (typical for its kind)." in shown.stdout
    assert "fibre" not in shown.stdout
    data = json.loads(drystow("food", "show", "Kiwifruit, green, raw", "--json").stdout)
    assert data["limits_c"]["mark"] == "class default"
    assert "fibre" in data["composition"]


def test_an_unknown_food_names_the_nearest() -> None:
    done = drystow("food", "show", "strawbeeery")
    assert done.returncode == 2
    assert "closest" in done.stderr
    assert "Strawberries" in done.stderr


def test_rehydration_adds_up_to_the_fresh_amount() -> None:
    data = json.loads(drystow("rehydrate", "strawberries", "raw", "--fresh", "500 g", "--json").stdout)
    assert data["dried_kg"] + data["water_kg"] == pytest.approx(0.5)
    assert any("2 hours" in caution for caution in data["cautions"])


SNACKS = """title = "Snacks and the rest"
dry_mass = "240 g"
residual_moisture = "2%"
packed_on = 2026-06-01
lot = "A0312-2"
[food]
name = "Strawberries, raw"
[[package]]
kind = "jar-pint"
count = 4
dry_mass = "80 g"
[[package]]
kind = "pouch-foil7-8x12"
"""


def written(folder: Path, text: str) -> Path:
    """A pack file."""
    file = folder / "pack.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_one_food_goes_into_several_kinds_of_package(tmp_path: Path) -> None:
    """80 g in four jars are 20 g each; the rest of 240 g is 160 g."""
    file = written(tmp_path, SNACKS)
    data = json.loads(drystow("pack", file, "--json").stdout)
    jars, bags = (one["containers"] for one in data["packages"])
    assert (jars["count"], jars["dry_mass_each_kg"]) == (4, pytest.approx(0.02))
    assert bags["count"] * bags["dry_mass_each_kg"] == pytest.approx(0.16)
    assert (data["packed_kg"], data["left_kg"]) == pytest.approx((0.24, 0.0))
    pdf = tmp_path / "labels.pdf"
    printed = json.loads(drystow("label", file, "-o", pdf, "--sheet", "letter-2x5", "--json").stdout)
    assert printed["labels"] == 4 + bags["count"]


def test_what_goes_into_no_package_is_told(tmp_path: Path) -> None:
    file = written(tmp_path, SNACKS.replace('"pouch-foil7-8x12"', '"pouch-foil7-8x12"\ndry_mass = "120 g"'))
    assert "NOT PACKED YET: 40 g" in drystow("pack", file, "--units", "si").stdout
    assert json.loads(drystow("pack", file, "--json").stdout)["left_kg"] == pytest.approx(0.04)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (SNACKS.replace('"80 g"', '"300 g"'), "the packages hold 300 g, but only 240 g was dried"),
        (SNACKS.replace('dry_mass = "80 g"\n', ""), "only one [[package]] may leave out its dry_mass"),
        (SNACKS + '[container]\nkind = "jar-pint"\n', "give either [container] or [[package]] tables, not both"),
        (SNACKS.replace("jar-pint", "jar-pimt"), "jar-pint"),
        (SNACKS.replace("count = 4", "number = 4"), "package[1].number"),
    ],
)
def test_packages_that_cannot_be_are_refused(tmp_path: Path, text: str, words: str) -> None:
    done = drystow("pack", written(tmp_path, text))
    assert (done.returncode, words in " ".join(done.stderr.split())) == (2, True), done.stderr
