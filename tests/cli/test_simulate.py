"""``drystow simulate`` on the examples, and on input that is wrong."""

import json
import random
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.cli.run import ROOT, drystow

EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
MIXED = ROOT / "examples" / "mixed-load.toml"
TRAY_KEYS = {
    "name",
    "water_start_kg",
    "ice_start_kg",
    "freezing_end_h",
    "primary_end_h",
    "dry_end_h",
    "front_temperature_c",
    "limit_c",
    "residual_moisture",
    "lies",
    "notes",
}
MACHINE_KEYS = {"trap_ice_kg", "trap_capacity_kg", "peak_vapour_kg_h", "peak_pressure_pa", "energy_kwh"}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_prints_a_timeline_a_cook_understands(path: Path) -> None:
    done = drystow("simulate", path)
    assert done.returncode == 0, done.stderr
    for words in ("Food in", "Vacuum and heat on", "ice gone", "very tray reached its target", "kWh"):
        assert words in done.stdout
    assert "How sure: In 8 of 10 simulated runs" in done.stdout


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_json_has_every_documented_field(path: Path) -> None:
    data = json.loads(drystow("simulate", path, "--json").stdout)
    assert data["ended_by"] == "dry"
    assert set(data["machine"]) >= MACHINE_KEYS
    for tray in data["trays"]:
        assert set(tray) >= TRAY_KEYS
        assert (
            tray["freezing_end_h"]
            <= data["drying_start_h"]
            < tray["primary_end_h"]
            < tray["dry_end_h"]
            <= data["total_h"] + 1e-9
        )
        front = tray["front_temperature_c"]
        assert front["start"] <= front["max"] < 0
        assert tray["residual_moisture"] <= tray["target_moisture"] + 1e-6
        lies = tray["lies"]
        assert lies["packing"] in ("apart", "touching", "piled", "poured")
        assert 0.0 < lies["coverage"] <= 1.0 <= lies["layers"]
        assert 0.0 < lies["drying_length_m"] <= lies["height_m"] * (1 + 1e-9)
        assert tray["wrapper_kg"] == 0.0
    parts = data["machine"]["energy_parts_kwh"]
    assert sum(parts.values()) == pytest.approx(data["machine"]["energy_kwh"])


def test_what_nobody_has_stated_of_a_food_stands_in_text_json_and_sheet(tmp_path: Path) -> None:
    file, sheet = tmp_path / "load.toml", tmp_path / "sheet.pdf"
    frame = '[dryer]\nprofile = "bench-4"\n[program]\nshelf = ["40 degC until dry"]\n[[tray]]\nname = "Camarones"\n'
    cut = 'mass = "200 g"\nshape = "cube"\nsize = "10 mm"\ncomposition = { water = 0.78, protein = 0.2, ash = 0.02 }\n'
    file.write_text(frame + cut)
    done = drystow("simulate", file, "--sheet", sheet)
    assert done.returncode == 0, done.stderr
    printed = " ".join(page.extract_text() for page in PdfReader(sheet).pages)
    for answer in (done.stdout, drystow("simulate", file, "--json").stdout, printed):
        words = " ".join(answer.split())
        assert "No one has said whether this is raw meat" in words
        assert "Allergens: not stated. Ask whoever made it" in words
    file.write_text(frame + "raw_animal = false\nallergens = []\n" + cut)
    assert "not stated" not in drystow("simulate", file).stdout


def test_members_turn_times_into_ranges_and_a_seed_repeats_them() -> None:
    first, second, other = (
        json.loads(drystow("simulate", MIXED, "--json", "--members", "20", "--seed", seed).stdout) for seed in "779"
    )
    assert first == second
    assert first["total_h"] != other["total_h"]
    for tray in first["trays"]:
        for name in ("freezing_end_h", "primary_end_h", "dry_end_h"):
            assert tray[name]["p10"] <= tray[name]["p50"] <= tray[name]["p90"]
    assert first["members"] == 20


def test_series_are_arrays_over_time() -> None:
    series = json.loads(drystow("simulate", MIXED, "--json", "--series").stdout)["series"]
    count = len(series["time_h"])
    assert count > 50
    assert series["time_h"] == sorted(series["time_h"])
    for tray in series["trays"]:
        assert len(tray["dried_fraction"]) == len(tray["moisture"]) == len(tray["front_temperature_c"]) == count
        assert tray["dried_fraction"][0] == 0
        assert tray["dried_fraction"][-1] == 1


def test_units_can_be_chosen() -> None:
    assert "mTorr" in drystow("simulate", MIXED).stdout
    metric = drystow("simulate", MIXED, "--units", "si").stdout
    assert " kg" in metric
    assert "mTorr" not in metric


def test_a_batch_sheet_is_written_whole(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.pdf"
    assert drystow("simulate", MIXED, "--sheet", sheet).returncode == 0
    assert sheet.read_bytes().startswith(b"%PDF")
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> Path:
    text = (ROOT / "examples" / "berry-tray.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "load.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('"13 mm"', '"12 C"', ["tray[1].size", "not a length", "measures something else"]),
        ('"1.7 lb"', '"-1 lb"', ["tray[1].mass", "above 0"]),
        ('"Blueberries, raw"', '"Bluebearies raw"', ["tray[1].food", "closest", "Blueberries, raw"]),
        ('mass = "1.7 lb"\n', "", ["tray[1].mass", "missing"]),
        ('"1.7 lb"', '"9 lb"', ["tray[1].mass", "rim", "holds about"]),
        ('"bench-4"', '"bench4"', ["dryer.profile", "bench-4"]),
        ("45 degC until dry", "450 degC until dry", ["program.shelf[2]", "is out of range for this shelf; write"]),
    ],
)
def test_bad_input_is_one_sentence_and_exit_2(tmp_path: Path, old: str, new: str, words: list[str]) -> None:
    done = drystow("simulate", changed(tmp_path, (old, new)))
    assert (done.returncode, done.stdout) == (2, "")
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("Error: ")
    for word in words:
        assert word in lines[0]


def test_each_problem_gets_its_own_line(tmp_path: Path) -> None:
    done = drystow("simulate", changed(tmp_path, ('"13 mm"', '"13"'), ('"1.7 lb"', '"heavy"'), ("45 degC", "45 X")))
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 3


def test_noise_and_folders_are_refused_in_one_sentence(tmp_path: Path) -> None:
    noise = tmp_path / "noise.toml"
    noise.write_bytes(random.Random(1).randbytes(10_000_000))
    text = tmp_path / "text.toml"
    text.write_text("this is not TOML", encoding="utf-8")
    for path in (noise, text, tmp_path, tmp_path / "absent.toml"):
        done = drystow("simulate", path)
        assert (done.returncode, done.stdout) == (2, "")
        assert len(done.stderr.strip().splitlines()) == 1, done.stderr


def test_a_program_that_never_dries_says_what_held_it_back(tmp_path: Path) -> None:
    done = drystow("simulate", changed(tmp_path, ("45 degC until dry", "-32 degC until dry")), "--json")
    data = json.loads(done.stdout)
    assert data["ended_by"] in ("stalled", "time_limit")
    assert "shelf" in data["ended_text"]
    assert "warm" in data["ended_text"]
    assert data["trays"][0]["dry_end_h"] is None
