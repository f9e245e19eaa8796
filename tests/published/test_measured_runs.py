"""The published runs are complete, the readers take them, and docs/measured-runs.md is about them."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from math import exp, inf, log, pi, sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tools.measured_runs import kept
from tools.measured_runs.facts import Ratio, orders_of, ratios_of
from tools.measured_runs.kept import Engine
from tools.measured_runs.predict import NOTHING, OWN_MACHINE, Taught, answers_of, load_of
from tools.measured_runs.published import FILE, Run, published_runs, read_runs
from tools.measured_runs.records import BLIND, HOUR, TAUGHT, UNTAUGHT, read_record, unit_of
from tools.measured_runs.scores import inside, ratio_of, same, scores_of
from tools.measured_runs.summary import Prediction, Said, Slopes, prediction_of, said_of, slopes_of
from tools.measured_runs.teach import COMMON, Learned, Lesson, learned_from, lessons_of, taught_without

from drystow.machine.sampling import PER_ITEM, SHARED, TOGETHER

PAGE = Path(__file__).parents[2] / "docs" / "measured-runs.md"
RUNS, SOURCES = published_runs()
BY_NAME = {run.name: run for run in RUNS}


def _rows(heading: str) -> list[list[str]]:
    """Cells of the table below a heading of the page, without its head."""
    section = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[1:]]


def _said(run: Run, members: int = 12, taught: Taught = NOTHING) -> Said:
    """What the engine says of a run beside the others of its study."""
    return said_of(answers_of(run, [one for one in RUNS if one.source == run.source], members, 1, taught))


def _slopes(middle: float, **numbers: float) -> Slopes:
    return Slopes(
        middle, {OWN_MACHINE: 0.0}, {**dict.fromkeys((*SHARED, *PER_ITEM), 0.0), **numbers}, 1e-4, {"fruit": 1.0}
    )


def _lesson(source: str, slopes: Slopes, published: float) -> Lesson:
    run = replace(
        BY_NAME["Kiwi slices of 5 mm, a tenth of the water left"], source=source, low=published, high=published
    )
    return Lesson(run, slopes)


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


def test_the_page_shows_the_blind_predictions_that_were_kept() -> None:
    blind = read_record(BLIND).said
    assert len(blind) >= 30
    assert set(blind) <= set(BY_NAME)
    for row in _rows("Times"):
        words = " – ".join(f"{value:.3g}" for value in blind[row[0]].ranges) if row[0] in blind else "none"
        assert row[2] == words


@pytest.mark.parametrize("path", [UNTAUGHT, TAUGHT], ids=lambda path: path.stem)
def test_every_run_has_its_untaught_and_its_taught_prediction_on_record(path: Path) -> None:
    record = read_record(path)
    assert set(record.said) == set(BY_NAME)
    assert len(record.commit) == 40


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
    assert scores.error_by_study == pytest.approx(np.median([1.25, 0.2]))
    assert scores.ratio == pytest.approx(1.5)
    assert scores.width == pytest.approx(3.0)
    assert scores_of(pairs[3:]) is None


@pytest.mark.parametrize(("bound", "low", "high"), [("at most", False, True), ("at least", True, False)])
def test_a_limit_agrees_when_the_range_reaches_it(bound: str, low: bool, high: bool) -> None:
    run = replace(RUNS[0], low=10.0, high=10.0, bound=bound)
    assert inside(run, Prediction(12.0, 13.0, 14.0)) is not high
    assert inside(run, Prediction(6.0, 7.0, 8.0)) is not low


def test_a_prediction_follows_what_is_known_of_a_run() -> None:
    thin, thick = (BY_NAME[f"Kiwi slices of {size}, a tenth of the water left"] for size in ("5 mm", "7 mm"))

    def predicted(run: Run) -> Prediction:
        return prediction_of(answers_of(run, [run], 12, 1))

    said = predicted(thin)
    assert said.p10 <= said.p50 <= said.p90
    assert said == predicted(thin)
    assert predicted(thick).p50 > said.p50
    dry = replace(thin, measure="dry", given={**thin.given, "end": 0.03})
    gone = replace(thin, measure="ice gone")
    assert said.p50 < predicted(dry).p50
    assert predicted(gone).p50 < predicted(dry).p50


def test_runs_of_one_study_share_what_nobody_wrote_down() -> None:
    study = [run for run in RUNS if run.source == "reale"]
    apple, banana, strawberry = (answers_of(run, study, 12, 1) for run in study)
    assert apple.names == banana.names == strawberry.names
    assert np.allclose(apple.shares, banana.shares)
    shared = len(SHARED)
    assert np.allclose(apple.draws[:, :shared], strawberry.draws[:, :shared])
    assert not np.allclose(apple.draws[:, shared:], strawberry.draws[:, shared:])
    other = BY_NAME["Strawberry slices, no infrared"]
    alone = answers_of(other, [other], 12, 1)
    assert np.allclose(alone.shares[:, alone.names.index("size")], apple.shares[:, apple.names.index("size")])


def test_what_was_taught_moves_a_prediction_and_narrows_it() -> None:
    run = BY_NAME["Apple slices, 40 °C, 30 Pa"]
    middle = _said(run, 40).prediction
    kinds = {("desorption", "fruit"): (2.0, 0.1)}
    faster = _said(run, 40, Taught(kinds)).prediction
    warmer = _said(run, 40, Taught({}, (1.0, 0.2))).prediction
    assert faster.p50 < middle.p50
    assert warmer.p50 < middle.p50
    assert warmer.p90 / warmer.p10 < middle.p90 / middle.p10
    assert _said(run, 40, Taught({("desorption", "meat"): (2.0, 0.1)})).prediction == middle


def test_slopes_are_those_of_the_answers() -> None:
    run = BY_NAME["Royal jelly of 12.9 mm, 24 °C, 49 Pa"]
    answers = answers_of(run, [run], 150, 1)
    slopes = slopes_of(answers)
    assert slopes is not None
    # With one number shifted by one standard deviation the logarithm moves by its slope.
    known = {("desorption", kind): (1.0, 1.0) for kind in slopes.kinds}
    shifted = answers_of(run, [run], 150, 1, Taught(known))
    moved = float(np.mean(np.log(shifted.values) - np.log(answers.values)))
    assert moved == pytest.approx(sqrt(TOGETHER["desorption"][1]) * slopes.numbers["desorption"], rel=0.25)
    assert moved < -0.02
    assert slopes.numbers["contact"] == 0.0
    assert slopes.inputs[OWN_MACHINE] < 0.0
    assert sum(slopes.kinds.values()) == pytest.approx(1.0)
    never = replace(answers, values=np.where(np.arange(150) < 100, np.inf, answers.values))
    assert slopes_of(never) is None
    sliced = slopes_of(
        answers_of(BY_NAME["Apple slices, 40 °C, 30 Pa"], [BY_NAME["Apple slices, 40 °C, 30 Pa"]], 150, 1)
    )
    assert sliced is not None
    assert max(sliced.inputs, key=lambda name: abs(sliced.inputs[name])) == "size"


def test_lessons_find_a_factor_that_runs_through_all_studies() -> None:
    # Every time is shorter by what a desorption two standard deviations faster would do.
    slope = -0.2
    slopes = _slopes(log(10.0), desorption=slope)
    shorter = exp(log(10.0) + 2.0 * sqrt(TOGETHER["desorption"][1]) * slope)
    few = learned_from([_lesson(f"study {number}", slopes, shorter) for number in range(2)], ["fruit", "meat"])
    many = learned_from([_lesson(f"study {number}", slopes, shorter) for number in range(60)], ["fruit", "meat"])
    key = ("desorption", "fruit")
    assert 0.0 < _of(few, key)[0] < _of(many, key)[0] < 2.0
    assert _of(many, key)[0] > 1.5
    assert _of(many, key)[1] < _of(few, key)[1] < 1.0
    assert _of(many, ("desorption", "meat"))[0] == pytest.approx(0.5 * _of(many, key)[0])
    assert _of(many, ("resistance", "fruit")) == (0.0, 1.0)
    nothing = learned_from([], ["fruit"])
    assert nothing.taught == Taught({k: (0.0, 1.0) for k in nothing.keys if k[1]}, (0.0, 1.0))


def _of(learned: Learned, key: tuple[str, str]) -> tuple[float, float]:
    at = learned.keys.index(key)
    return float(learned.means[at]), float(learned.widths[at])


def test_the_heat_of_a_machine_is_only_partly_that_of_all_machines() -> None:
    slopes = replace(_slopes(log(10.0)), inputs={OWN_MACHINE: -0.5})
    learned = learned_from([_lesson(f"study {number}", slopes, 10.0 * exp(-0.5)) for number in range(50)], ["fruit"])
    mean, width = learned.taught.heat
    assert 0.5 < mean < 1.1
    assert sqrt(1.0 - COMMON) < width < 1.0


def test_a_study_that_fits_nothing_pulls_little() -> None:
    slopes = _slopes(log(10.0), desorption=-0.2)
    good = [_lesson(f"study {number}", slopes, 10.0) for number in range(10)]
    learned = learned_from([*good, _lesson("odd", slopes, 200.0)], ["fruit"])
    assert learned.weights["odd"] < 0.1
    assert abs(_of(learned, ("desorption", "fruit"))[0]) < 0.2


def test_no_study_sees_its_own_runs() -> None:
    said = {run.name: _said(run) for run in RUNS if run.sized}
    lessons = lessons_of([run for run in RUNS if run.sized], said)
    studies = {lesson.run.source for lesson in lessons}
    assert len(studies) >= 6
    kinds = ["fruit", "vegetable", "dairy"]
    for study in studies:
        before = taught_without(study, lessons, kinds)
        changed = [
            replace(one, run=replace(one.run, low=3.0 * one.run.low, high=3.0 * one.run.high))
            if one.run.source == study
            else one
            for one in lessons
        ]
        after = taught_without(study, changed, kinds)
        assert study not in before.weights
        assert np.array_equal(before.means, after.means)
        assert np.array_equal(before.widths, after.widths)
        # Only its own: what the study says does move what another one is predicted with.
        other = min(studies - {study})
        moved = taught_without(other, changed, kinds).means - taught_without(other, lessons, kinds).means
        assert np.abs(moved).max() > 0.0


def test_an_answer_is_kept_until_anything_that_it_rests_on_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = BY_NAME["Kiwi slices of 5 mm, a tenth of the water left"]
    path = tmp_path / "answers.json"
    asked = []

    def counted(*arguments: Any) -> Any:
        asked.append(arguments[0].name)
        return answers_of(*arguments)

    monkeypatch.setattr(kept, "answers_of", counted)
    first = Engine(RUNS, 12, 1, path)(run)
    again = Engine(RUNS, 12, 1, path)(run)
    assert len(asked) == 1
    assert again.prediction == first.prediction
    assert again.slopes == first.slopes
    assert np.allclose(again.values, first.values, rtol=1e-5)
    Engine(RUNS, 12, 2, path)(run)
    Engine(RUNS, 12, 1, path)(run, Taught({}, (0.5, 1.0)))
    monkeypatch.setattr(kept, "_state", lambda: "another program")
    Engine(RUNS, 12, 1, path)(run)
    assert len(asked) == 4


def test_orders_and_ratios_are_judged_draw_by_draw() -> None:
    def said(hours: list[float]) -> Said:
        times = HOUR * np.array(hours)
        left = np.full(len(hours), 0.3)
        return Said(Prediction(inf, inf, inf), None, times, times / 2.0, times, left)

    names = [f"{food} slices, 40 °C, 30 Pa" for food in ("Banana", "Strawberry", "Apple")]
    right = dict(zip(names, (said([2.0, 8.0, 3.0]), said([4.0, 4.0, 4.0]), said([6.0, 9.0, 5.0])), strict=True))
    ice, desorption = orders_of(BY_NAME, right)
    assert ice.agrees
    assert ice.share == pytest.approx(2 / 3)
    assert not desorption.agrees
    assert desorption.found == tuple(names)
    assert same([ratio_of(right[names[0]], right[names[1]])], [Prediction(0.5, 0.75, 2.0)])
    for published, agrees in ((0.9, True), (0.68, True), (0.6, False)):
        assert Ratio("x", published, Prediction(0.7, 0.74, 1.1)).agrees is agrees


def test_the_page_judges_every_order_and_ratio_of_the_set() -> None:
    raw = tomllib.loads(FILE.read_text(encoding="utf-8"))
    rows = _rows("Orders and ratios within a study")
    assert [row[0] for row in rows if row[0] in {order["name"] for order in raw["order"]}]
    assert {row["name"] for row in (*raw["order"], *raw["ratio"])} <= {row[0] for row in rows}
    said = {run.name: Said(Prediction(1.0, 1.0, 1.0), None, *4 * [np.ones(3)]) for run in RUNS}
    assert [ratio.name for ratio in ratios_of(BY_NAME, said)] == [row["name"] for row in raw["ratio"]]


def test_the_page_names_whatever_disagrees() -> None:
    text = PAGE.read_text(encoding="utf-8")
    section = text.split("## What disagrees, and why\n")[1].split("\n## ")[0]
    named = set(re.findall(r"\*\*(.+?)\*\*", section))
    for heading in ("Limits and other numbers", "Orders and ratios within a study"):
        for row in _rows(heading):
            assert (row[0] in named) is ("**no**" in row)
