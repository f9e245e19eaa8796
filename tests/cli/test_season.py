"""``drystow season`` on the example garden."""

import json
import re
from pathlib import Path

from tests.cli.run import ROOT, drystow

EXAMPLE = ROOT / "examples" / "planning" / "garden.toml"


def test_programs_get_the_answer_of_each_choice_and_the_same_one_for_a_seed() -> None:
    done = drystow("season", EXAMPLE, "--json", "--rounds", "2", "--seed", "5")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["seasons"] == 2
    assert len(data["choices"]) == 3
    for one in data["choices"]:
        assert 0 <= one["enough_seasons"] <= 2
        assert one["dried_kg"]["mean"] + one["lost_kg"]["mean"] == __import__("pytest").approx(data["came_kg"]["mean"])
        assert len(one["weeks"]) == 26
    assert data["choices"][0]["pay"] is None
    assert data["choices"][1]["pay"]["break_even_per_kg"] == data["choices"][1]["pay"]["price_per_more_kg"]
    assert drystow("season", EXAMPLE, "--json", "--rounds", "2", "--seed", "5").stdout == done.stdout


def test_people_read_whether_it_is_enough_and_whether_it_pays() -> None:
    done = drystow("season", EXAMPLE, "--rounds", "2")
    assert done.returncode == 0, done.stderr
    assert "of 2 seasons" in done.stdout
    assert "a lb" in done.stdout
    assert "Note: The seasons are made up" in done.stdout
    assert " a kg" in drystow("season", EXAMPLE, "--rounds", "1", "--units", "si").stdout


def test_a_wrong_file_is_refused_with_every_field(tmp_path: Path) -> None:
    path = tmp_path / "garden.toml"
    path.write_text("weeks = 0\nrounds = 0\n[[crop]]\nfood = 'Kale, raw'\n[[choice]]\nprice = -1\n", encoding="utf-8")
    done = drystow("season", path)
    assert done.returncode == 2
    for field in ("begin", "weeks", "rounds", "crop[1].mass", "crop[1].first", "choice[1].price", "choice[1].dryer"):
        assert f"Error: {field}:" in done.stderr, done.stderr
    assert "Usage" in drystow("season", path, "--rounds", "0").stderr


def test_without_a_tariff_electricity_is_not_counted_and_never_costs_nothing(tmp_path: Path) -> None:
    path = tmp_path / "garden.toml"
    text = EXAMPLE.read_text(encoding="utf-8")
    path.write_text(re.sub(r"(?m)^\[tariff\]\n(?:price.*\n|\n)*", "", text), encoding="utf-8")
    counted, bare = (drystow("season", one, "--rounds", "1").stdout for one in (EXAMPLE, path))
    assert "Electricity is not counted; no price is set." in bare
    assert not re.search(r"(?<![\d.,])0\.00", bare)
    assert "not counted" not in counted
