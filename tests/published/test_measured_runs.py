"""The published runs are complete, the readers take them, and docs/measured-runs.md is about them."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from math import log, pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tools.measured_runs.blind import HOUR, read_blind, unit_of
from tools.measured_runs.predict import Prediction, load_of, predict
from tools.measured_runs.published import FILE, Run, published_runs, read_runs
from tools.measured_runs.scores import inside, ratio_of, scores_of

PAGE = Path(__file__).parents[2] / "docs" / "measured-runs.md"
RUNS, SOURCES = published_runs()
BY_NAME = {run.name: run for run in RUNS}


def _rows(heading: str) -> list[list[str]]:
    """Cells of the table below a heading of the page, without its head."""
    section = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[1:]]


def _spoiled(change: Callable[[dict[str, Any]], Any]) -> dict[str, Any]:
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    change(raw)
    return raw


def test_there_are_at_least_twenty_times_and_every_source_is_used() -> None:
    assert sum(run.timed for run in RUNS) >= 20
    assert {run.source for run in RUNS} == set(SOURCES)


@pytest.mark.parametrize("run", RUNS, ids=lambda run: run.name)
def test_a_load_file_takes_a_run_at_both_ends_of_every_range(run: Run) -> None:
    for share in (0.0, 0.5, 1.0):
        load = load_of(run, run.inputs(np.full(len(run.missing), share)))
        if "end" in run.given:
            assert load.items[0].target == pytest.approx(run.given["end"])
        if "load" in run.given:
            assert load.items[0].mass / load.items[0].areas.contact == pytest.approx(run.given["load"])
        if "size" in run.given:
            assert load.items[0].size == pytest.approx(run.given["size"])


@pytest.mark.parametrize("run", RUNS, ids=lambda run: run.name)
def test_a_run_that_leaves_an_input_out_is_refused(run: Run) -> None:
    for part in ("given", "missing"):
        for name in getattr(run, part):
            if name in ("water", "like", "skin", "load"):  # optional; a load stands for a size
                continue

            def drop(raw: dict[str, Any], part: str = part, name: str = name) -> None:
                del next(row for row in raw["run"] if row["name"] == run.name)[part][name]

            with pytest.raises(ValueError, match=r"says nothing of|have no place"):
                read_runs(_spoiled(drop))


@pytest.mark.parametrize(
    ("words", "change"),
    [
        ("mark 'remembered' is none of", lambda row: row.update(mark="remembered")),
        ("measure 'wet' is none of", lambda row: row.update(measure="wet")),
        ("source 'hearsay' is none of", lambda row: row.update(source="hearsay")),
        ("does not say how", lambda row: row.update(mark="calculated")),
        ("high is below low", lambda row: row.update(value={"low": "12 h", "high": "3 h"})),
        ("are given and missing", lambda row: row["missing"].update(pressure="vacuum")),
        ("is no range", lambda row: row["missing"].update(size={"low": "9 mm", "high": "4 mm", "why": "x"})),
        ("why", lambda row: row["missing"].update(size={"low": "4 mm", "high": "9 mm"})),
        ("says nothing", lambda row: row["missing"].update(size={"low": "4 mm", "high": "9 mm", "why": " "})),
        ("says nothing", lambda row: row.update(at="")),
        ("has no unit", lambda row: row["given"].update(pressure="30")),
        ("at", lambda row: row.pop("at")),
    ],
)
def test_a_row_with_a_fault_is_refused_with_its_name(words: str, change: Callable[[dict[str, Any]], Any]) -> None:
    first = RUNS[0].name
    with pytest.raises(ValueError, match=f"(?s){first}.*({words})"):
        read_runs(_spoiled(lambda raw: change(raw["run"][0])))


def test_a_source_says_what_of_it_was_read() -> None:
    def change(raw: dict[str, Any]) -> None:
        raw["source"]["reale"]["read"] = "from memory"

    with pytest.raises(ValueError, match="read 'from memory' is none of"):
        read_runs(_spoiled(change))


def test_calculated_times_follow_from_what_was_read() -> None:
    for name, thickness, diffusivity in (("5 mm", 0.005, 2.25e-10), ("7 mm", 0.007, 3.28e-10)):
        run = BY_NAME[f"Kiwi slices of {name}, a tenth of the water left"]
        rate = pi**2 * diffusivity / (4 * (thickness / 2) ** 2)
        assert run.published == pytest.approx(log(8 / pi**2 / 0.1) / rate, rel=2e-3)
    for name, rate in (("Plantain slices of 5.7 mm", 0.45), ("Carrot slices of 2.1 mm", 0.33)):
        run = BY_NAME[f"{name}, 32 °C, a tenth of the water left"]
        assert run.published / HOUR == pytest.approx(log(10) / rate, rel=2e-3)
    assert BY_NAME["Banana slices, 267 Pa, no infrared"].published == pytest.approx(213 * 60 / 0.30)
    assert BY_NAME["Dragon fruit slices"].published == pytest.approx((784 + 111) * 60)


def test_a_tenth_of_the_water_is_a_tenth_per_dry_mass() -> None:
    for run in RUNS:
        if "a tenth of the water left" in run.name:
            item = load_of(run, run.inputs(np.full(len(run.missing), 0.5))).items[0]
            assert item.target / (1 - item.target) == pytest.approx(0.1 * item.water / item.solids, rel=0.01)


def test_the_page_is_about_the_runs_of_the_set() -> None:
    times, others, sources = _rows("Times"), _rows("Limits and other numbers"), _rows("Sources")
    assert [row[0] for row in times] == [run.name for run in RUNS if run.timed]
    assert [row[0] for row in others] == [run.name for run in RUNS if not run.timed]
    assert [row[0] for row in sources] == list(SOURCES)
    for row in times:
        run = BY_NAME[row[0]]
        assert row[1].split(" to ")[0] == f"{run.low / unit_of(run):.3g}"
    for row in sources:
        assert int(row[1]) == sum(run.source == row[0] for run in RUNS)
    text = PAGE.read_text(encoding="utf-8")
    assert f"{len(RUNS)} published numbers from {len(SOURCES)} studies: {sum(run.timed for run in RUNS)} times" in text
    assert all(f"- **{run.name}** [{run.source}; {run.at}" in text for run in RUNS)


def test_every_run_has_its_blind_prediction_and_the_page_shows_it() -> None:
    blind = read_blind().said
    assert set(blind) == set(BY_NAME)
    for row in _rows("Times"):
        assert row[2] == " – ".join(f"{value:.3g}" for value in blind[row[0]].ranges)


def test_scores_count_runs_and_studies() -> None:
    first, second = (replace(run, low=HOUR, high=HOUR) for run in RUNS[:2])
    third = replace(RUNS[3], low=HOUR, high=HOUR)
    pairs = [
        (first, Prediction(0.5 * HOUR, 1.5 * HOUR, 2 * HOUR)),
        (second, Prediction(2 * HOUR, 3 * HOUR, 4 * HOUR)),
        (third, Prediction(0.5 * HOUR, 0.8 * HOUR, 1.5 * HOUR)),
        (replace(third, bound="at most"), Prediction(9 * HOUR, 9 * HOUR, 9 * HOUR)),
    ]
    scores = scores_of(pairs)
    assert scores is not None
    assert (scores.runs, scores.studies) == (3, 2)
    assert scores.covered == pytest.approx(2 / 3)
    assert scores.covered_by_study == pytest.approx(0.75)
    assert scores.error == pytest.approx(0.5)
    assert scores.ratio == pytest.approx(1.5)
    assert scores.width == pytest.approx(3.0)
    assert scores_of(pairs[3:]) is None
    assert ratio_of(pairs[1], pairs[0]) == (pytest.approx(1.0), pytest.approx(2.0))


@pytest.mark.parametrize(("bound", "low", "high"), [("at most", False, True), ("at least", True, False)])
def test_a_limit_agrees_when_the_range_reaches_it(bound: str, low: bool, high: bool) -> None:
    run = replace(RUNS[0], low=10.0, high=10.0, bound=bound)
    assert inside(run, Prediction(12.0, 13.0, 14.0)) is not high
    assert inside(run, Prediction(6.0, 7.0, 8.0)) is not low


def test_a_prediction_follows_what_is_known_of_a_run() -> None:
    thin, thick = (BY_NAME[f"Kiwi slices of {size}, a tenth of the water left"] for size in ("5 mm", "7 mm"))
    said = predict(thin, 12, 1)
    assert said.p10 <= said.p50 <= said.p90
    assert said == predict(thin, 12, 1)
    assert predict(thick, 12, 1).p50 > said.p50
    dry = replace(thin, measure="dry", given={**thin.given, "end": 0.03})
    gone = replace(thin, measure="ice gone")
    assert said.p50 < predict(dry, 12, 1).p50
    assert predict(gone, 12, 1).p50 < predict(dry, 12, 1).p50
