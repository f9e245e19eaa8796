"""PACK.toml: every problem is found and named, every example works."""

import os
from pathlib import Path

import pytest

from drystow.errors import InputErrors
from drystow.foods.model import Composition, Food
from drystow.packing.packfile import PackSpec, parse_pack, read_pack
from drystow.packing.plan import pack_batch

EXAMPLES = sorted((Path(__file__).parents[2] / "examples" / "packing").glob("*.toml"))
GOOD = 'dry_mass = "200 g"\n[food]\nname = "Strawberries, raw"\n'


def problems(text: str) -> dict[str, str]:
    with pytest.raises(InputErrors) as caught:
        parse_pack(text)
    return {problem.field: problem.message for problem in caught.value.problems}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_can_be_packed(path: Path) -> None:
    plan = pack_batch(read_pack(path))
    assert plan.filling.count >= 1
    assert "Alder Lane" in plan.pack.title


def test_there_are_examples() -> None:
    assert len(EXAMPLES) >= 4


def test_a_short_file_gets_defaults() -> None:
    pack = parse_pack(GOOD)
    assert (pack.residual_moisture, pack.moisture_given, pack.air_left, pack.margin) == (0.03, False, 1.0, 1.25)
    assert pack.container is None
    assert pack.seasons[0].temperature == pytest.approx(294.15)


def test_fresh_mass_becomes_dried_mass() -> None:
    pack = parse_pack(GOOD.replace('dry_mass = "200 g"', 'fresh_mass = "1 kg"\nresidual_moisture = "2%"'))
    # food-table water of raw strawberries is about 91%: 9% solids
    assert pack.dry_mass == pytest.approx(0.092, abs=0.004)


def test_foods_of_the_user_are_found() -> None:
    own = Food("mine", "Aunt's dumplings", "dish", Composition(water=0.6, carbohydrate=0.4), own=True)
    pack = parse_pack('dry_mass = "1 lb"\n[food]\nname = "Aunt\'s dumplings"', own=(own,))
    assert pack.food is own


def test_all_problems_come_at_once() -> None:
    found = problems(
        'dry_mass = 5\nfresh_mass = "3 lb"\nresidual_moisture = "80%"\n[food]\nname = "Strawberies, rw"\n'
        '[container]\nkind = "jar-qart"\ncount = "x"\n[storage]\ntemprature = "3 degC"'
    )
    assert set(found) == {
        "dry_mass",
        "residual_moisture",
        "food.name",
        "container.kind",
        "container.count",
        "storage.temprature",
    }
    assert "'jar-quart'" in found["container.kind"]
    assert "'Strawberries, raw'" in found["food.name"]
    assert "'temperature'" in found["storage.temprature"]
    assert "0 to 30%" in found["residual_moisture"]


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        (GOOD.replace("200 g", "200"), "dry_mass", "no unit"),
        (GOOD.replace("200 g", "-1 g"), "dry_mass", "out of range"),
        (GOOD.replace("200 g", "3 mm"), "dry_mass", "not a weight"),
        ('packed_on = "2026"\n' + GOOD, "packed_on", "not a date"),
        ("packed_on = 2026-03-14T10:00:00\n" + GOOD, "packed_on", "not a date"),
        ('form = "dust"\n' + GOOD, "form", "closest"),
        ("titel = 3\n" + GOOD, "titel", "'title'"),
        ("title = 3\n" + GOOD, "title", "text"),
        (GOOD + "[label]\nnotes = 'x'", "label.notes", "list"),
        (GOOD + "[storage]\nseason = 3", "storage.season", "one to twelve"),
        (GOOD + '[container]\nvolume = "1 L"', "container.area", "needed"),
        (GOOD + "[container]", "container.kind", "missing"),
        (GOOD + '[container]\nkind = "can-10"\nvolume = "1 L"', "container.kind", "not both"),
        ('dry_mass = "1 kg"\nfood = 3', "food", "table"),
        ('dry_mass = "1 kg"\n[food]', "food.name", "missing"),
        ('dry_mass = "1 kg"', "food", "missing"),
        (GOOD + 'like = "fruits"', "food.like", "'fruit'"),
        (GOOD + 'like = "fruit"\nclass = "fruit"', "food.class", "leave 'class' out"),
        (GOOD + 'raw_animal = "no"', "food.raw_animal", "neither true nor false"),
        (GOOD + 'allergens = "milk"', "food.allergens", "list"),
        ('dry_mass = "1 kg"\n[food]\nname = "x"\ncomposition = { fat = 1.0 }', "food.composition.water", "missing"),
        (
            'dry_mass = "1 kg"\n[food]\nname = "x"\ncomposition = { water = 0.5, carbohydrate = 0.1 }',
            "food.composition",
            "add up",
        ),
        ("a = a = a", "file", "not TOML"),
        ("a = " + "[" * 100_000, "file", "not TOML"),
        ("x" * 1_000_001, "file", "1 MB"),
    ],
)
def test_a_wrong_field_is_named_with_what_to_write(text: str, field: str, words: str) -> None:
    assert words in problems(text)[field]


@pytest.mark.parametrize("name", ["missing.toml", "folder", "noise.toml", "big.toml", "x" * 400 + ".toml", "a\0b"])
def test_a_file_that_cannot_be_read_gives_one_sentence(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "noise.toml").write_bytes(os.urandom(1000) + b"\xff\xfe")
    (tmp_path / "big.toml").write_bytes(b"\xff" * 10_000_000)
    with pytest.raises(InputErrors) as caught:
        read_pack(tmp_path / name)
    assert len(caught.value.problems) == 1
    assert "\n" not in str(caught.value)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no endless file here")
def test_an_endless_file_is_refused_without_reading_it() -> None:
    with pytest.raises(InputErrors, match="not a regular file"):
        read_pack(Path("/dev/zero"))


def test_a_full_own_container_is_taken_as_written() -> None:
    pack: PackSpec = parse_pack(
        GOOD + '[container]\nmaterial = "clear"\nvolume = "2 L"\narea = "0.1 m^2"\noxygen_per_day = "0.5 mL"\n'
        'vapour = "3 g/m^2/day"\ncount = 2'
    )
    assert pack.container is not None
    assert pack.container.volume == pytest.approx(2e-3)
    assert pack.container.leak * 86400 == pytest.approx(0.5e-6)
    assert pack.container.material.vapour * 86400 == pytest.approx(3e-3)
    assert pack.count == 2
