"""``drystow best-load`` and ``drystow best-program`` at the command line."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drystow.cli.app import app

EXAMPLES = Path(__file__).parents[2] / "examples"
BASKETS = [EXAMPLES / "planning" / name for name in ("saturday-basket.toml", "dinner-rush.toml")]


@pytest.mark.parametrize("path", BASKETS, ids=lambda path: path.stem)
def test_a_basket_becomes_a_load_file_that_simulate_reads(path: Path, tmp_path: Path) -> None:
    out = tmp_path / "load.toml"
    answer = CliRunner().invoke(app, ["best-load", str(path), "--json", "--load", str(out), "--members", "20"])
    assert answer.exit_code == 0, answer.output
    plan = json.loads(answer.stdout)
    assert plan["met"] == (plan["refusal"] is None)
    assert not plan["met"] or plan["end_h"]["p80"] <= plan["wished_h"]
    assert plan["water_kg"] <= plan["trap_capacity_kg"]
    simulated = CliRunner().invoke(app, ["simulate", str(out), "--json"])
    assert simulated.exit_code == 0
    trays = json.loads(simulated.stdout)["trays"]
    assert [tray["name"] for tray in trays] == [tray["name"] for tray in plan["trays"]]
    assert sum(tray["mass_kg"] for tray in trays) == pytest.approx(plan["mass_kg"], abs=2e-3)


def test_the_best_load_is_told_as_a_table_with_what_stays_out() -> None:
    answer = CliRunner().invoke(app, ["best-load", str(BASKETS[0]), "--members", "20"])
    assert "In 8 of 10 simulated runs it is dry within" in answer.output
    assert "Left over" in answer.output
    assert "separate batches" in answer.output


def test_a_wish_that_cannot_be_met_is_told_first() -> None:
    answer = CliRunner().invoke(app, ["best-load", str(BASKETS[1]), "--members", "20"])
    assert "NOT WHAT YOU ASKED FOR" in answer.output
    assert "The closest load takes" in answer.output


def test_a_program_is_told_beside_the_one_that_was_written() -> None:
    load = str(EXAMPLES / "berry-tray.toml")
    words = ["best-program", load, "--members", "20", "--steps", "1", "--highest", "50 degC"]
    answer = CliRunner().invoke(app, words)
    assert answer.exit_code == 0, answer.output
    assert "As written" in answer.output
    assert "Why not warmer" in answer.output
    data = json.loads(CliRunner().invoke(app, [*words, "--json"]).stdout)
    assert data["safe"] is True
    assert data["program"]["total_h"] <= data["own_program"]["total_h"]
    assert data["program"]["shelf"][-1].endswith("until dry")
