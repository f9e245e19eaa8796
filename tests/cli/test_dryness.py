"""``drystow dryness`` on the examples, and on files that are wrong."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from drystow.evidence.dryness.words import chance_words
from tests.cli.run import ROOT, drystow

FOLDER = ROOT / "examples" / "dryness"
VERDICTS = {
    "steady": "dry",
    "not-yet": "not_dry",
    "weighed-once": "not_enough_evidence",
    "gained": "contradiction",
    "oven-and-meter": "dry",
}
FEW = ("--members", "300")


def answer(name: str, *options: str) -> dict[str, Any]:
    done = drystow("dryness", FOLDER / f"{name}.toml", "--json", *(options or FEW))
    assert done.returncode == 0, done.stderr
    data: dict[str, Any] = json.loads(done.stdout)
    return data


def test_the_examples_are_there() -> None:
    assert {path.stem for path in FOLDER.glob("*.toml")} >= set(VERDICTS)


@pytest.mark.parametrize("name", VERDICTS)
def test_an_example_is_judged_as_it_was_meant(name: str) -> None:
    data = answer(name)
    (tray,) = data["trays"]
    assert tray["verdict"] == VERDICTS[name]
    assert set(tray) == {
        "tray", "name", "residual_moisture", "water_activity", "target_moisture", "probability_dry", "more_hours",
        "next_weighing_h", "evidence", "verdict", "words", "notes", "wet_piece", "wettest_water_activity",
    }  # fmt: skip
    for three in (tray["residual_moisture"], tray["water_activity"]):
        assert 0.0 <= three["p05"] <= three["p50"] <= three["p95"] <= 1.0
    assert 0.0 <= tray["probability_dry"] <= 1.0
    assert set(tray["more_hours"]) == {"p50", "p90"}
    assert all(set(piece) == {"kind", "words", "pull"} for piece in tray["evidence"])
    assert all(source["text"] for source in data["sources"])
    wettest = tray["wettest_water_activity"]
    assert all(wettest[name] >= tray["water_activity"][name] for name in wettest)
    if tray["verdict"] == "dry":
        assert tray["wet_piece"] is None
        assert tray["probability_dry"] >= data["decision_level"]
    if tray["verdict"] == "contradiction":
        assert tray["probability_dry"] <= 0.5


def test_people_get_a_table_a_reason_and_what_to_do() -> None:
    shown = drystow("dryness", FOLDER / "not-yet.toml", *FEW).stdout
    for words in (
        "Verdict",
        "not yet",
        "Not dry yet",
        "Weigh again in 4 hours; that weighing tells you most about how long",
        "Evidence: 3 weighings; it lost 0.28 oz",
    ):
        assert words in shown
    dry = drystow("dryness", FOLDER / "steady.toml", *FEW).stdout
    assert "Cut the thickest piece open before packing" in dry


def test_a_seed_repeats_the_answer() -> None:
    one, two, other = (answer("not-yet", *FEW, "--seed", seed) for seed in "779")
    assert one == two
    assert one != other


BATCH = """
[load]
file = "{load}"
[run]
drying_began = 2026-03-14T18:00:00
now = 2026-03-15T14:00:00
{more}
"""


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('[[weighing]]\ntime = "3 h"\ngross = "1 kg"', "weighing[1].tray: is missing"),
        ('[[weighing]]\ntray = 1\ngross = "1 kg"', "weighing[1].time: is missing; write hours since drying began"),
        (
            '[[weighing]]\ntray = 2\ntime = "3 h"\ngross = "1 kg"',
            "weighing[1].tray: 2 is not possible; write a whole number from 1 to 1",
        ),
        ('[[weighing]]\ntray = 1\ntime = "3 h"\ngross = 1.0', "weighing[1].gross: '1.0' has no unit"),
        (
            '[[weighing]]\ntray = 1\ntime = "3 h"\ngross = "1 kg"\ntare = "1.2 kg"',
            "weighing[1].tare: the empty tray can't weigh as much as the tray with its food; write less than",
        ),
        ('[[weighing]]\ntray = 1\ntime = "30 h"\ngross = "1 kg"', "weighing[1].time: is later than run.now"),
        ('[[weighing]]\ntray = 1\ntime = "3 h"\ngros = "1 kg"', "there is no field called 'gros'; closest: 'gross'"),
        (
            '[[oven_sample]]\ntray = 1\ntime = "3 h"\nbefore = "5 g"\nafter = "6 g"',
            "oven_sample[1].after: is more than before",
        ),
        (
            '[[activity]]\ntray = 1\ntime = "3 h"\nactivity = 18',
            "activity[1].activity: '18' is out of range; write 0 to 1, such as 0.18",
        ),
        ('[[cut]]\ntray = 1\ntime = "3 h"\nfinding = "crisp"', "cut[1].finding: there is no finding called 'crisp'"),
        ('[[cut]]\ntray = 1\ntime = 2026-03-14T17:00:00\nfinding = "dry"', "not in the 20 days after drying began"),
        ("[weighing]\ntray = 1", "weighing: write up to 500 tables [[weighing]]"),
    ],
)
def test_what_is_wrong_in_a_file_is_said_with_its_place(more: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "batch.toml"
    path.write_text(BATCH.format(load=ROOT / "examples" / "berry-tray.toml", more=more), encoding="utf-8")
    done = drystow("dryness", path)
    assert done.returncode != 0
    assert words in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[run]\nnow = '3 h'", "load: is missing"),
        ("[load]\nfile = 'none.toml'\n[run]\nnow = '3 h'", "there is no such file"),
        (
            "[load]\nfile = 'none.toml'\ntitle = 'x'\n[run]\nnow = '3 h'",
            "load.file: give a file or the load itself, not both",
        ),
        ("[load]\n[run]\nnow = '3 h'", "load.tray: there is no food"),
        ("[load]\nfile = 'none.toml'\n[run]\nnow = 2026-03-15T14:00:00", "so run.drying_began must be one too"),
    ],
)
def test_a_batch_without_a_load_or_a_time_is_refused(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "batch.toml"
    path.write_text(text, encoding="utf-8")
    done = drystow("dryness", path)
    assert done.returncode != 0
    assert words in done.stderr


@pytest.mark.parametrize("name", VERDICTS)
def test_people_read_the_chance_in_words_and_programs_get_the_number(name: str) -> None:
    (tray,) = answer(name)["trays"]
    assert isinstance(tray["probability_dry"], float)
    words = "?" if tray["verdict"] == "contradiction" else str(chance_words(tray["probability_dry"]))
    lines = drystow("dryness", FOLDER / f"{name}.toml", *FEW).stdout.splitlines()
    (row,) = (line for line in lines if re.match(r" *1 ", line))
    assert re.search(rf"  {re.escape(words)}  ", row), row
