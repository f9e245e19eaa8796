"""The page of mutants names every number that may be wrong, and what makes them wrong does so."""

import json
import subprocess
import sys

import pytest
from tools.mutants.campaign import Campaign, nearest
from tools.mutants.page import COLUMNS, PAGE, _row, kept, rows_of
from tools.mutants.registry import Constant, registry
from tools.mutants.standing import STANDINGS, standing_of
from tools.mutants.trial import Got

from tests.patience import PATIENCE

REGISTRY = {constant.key: constant for constant in registry()}

# One of each kind: what is changed, which functions are run, and what they say of it.
CASES = {
    "constant": (
        "constants.py FUSION_HEAT",
        "check_properties_thermal.compare_heat_of_fusion",
        "heat of fusion of water",
    ),
    "coefficient": (
        "properties/water.py _ice_vapour_pressure: 3.53068",
        "check_properties_water.compare_ice_pressure_with_the_standard",
        "ice vapour pressure at 230 K, check value of the release",
    ),
    "row": (
        "foods/classes.toml fruit.heat.vacuum",
        "check_drying.compare_layer_conductivity",
        "conductivity of dried apple at 2.66 Pa of air",
    ),
    "list": (
        "properties/components.toml water.density",
        "check_properties_thermal.compare_components_with_real_water_and_ice",
        "density of water at 278.15 K, real water",
    ),
    "quantity": (
        "packing/containers.toml container.can-10.volume",
        "check_packing.compare_cans",
        "oxygen in an empty No. 10 can at sea level",
    ),
    "temperature": (
        "properties/glass.toml solute.sucrose.melting_onset",
        "check_sugars.compare_glass_of_sugars",
        "onset of melting of sucrose by one school against the glass of the other",
    ),
    "compiled": (
        next(key for key in REGISTRY if key.endswith(" DESORPTION_HEAT")),
        "check_constants.compare_water_and_ice",
        "heat by which bound water leaves, over that of water at 30 °C",
    ),
}
TRIED = """
import json, sys
from tools.mutants.registry import registry
from tools.mutants.trial import Trial, failed, outcome_of, run, unchanged
asked = json.loads(sys.argv[1])
constants = {constant.key: constant for constant in registry()}
before = unchanged(tuple({function for _key, function, _way in asked}))
good = frozenset(row.name for got in before.got.values() for row in got)
answers = {}
waiting = [
    ((key, way), Trial(((constants[key], way),), (function,), good, before.frozen)) for key, function, way in asked
]
run(lambda: [waiting.pop()] if waiting else [], lambda name, outcome: answers.update({
    f"{name[0]} {name[1]:g}": [failed(got, good) for got in outcome.got.values()]
}))
print(json.dumps(answers))
"""


@pytest.fixture(scope="module")
def answers() -> dict[str, list[str]]:
    """What is said of every case changed, and not changed at all, in processes of their own."""
    asked = [(key, function, way) for key, function, _name in CASES.values() for way in (1.0, 0.0)]
    told = subprocess.run(
        [sys.executable, "-c", TRIED, json.dumps(asked)], capture_output=True, text=True, check=True, timeout=PATIENCE
    )
    found: dict[str, list[str]] = json.loads(told.stdout.splitlines()[-1])
    return found


@pytest.mark.parametrize("kind", CASES)
def test_a_wrong_number_is_noticed(kind: str, answers: dict[str, list[str]]) -> None:
    key, _function, name = CASES[kind]
    assert answers[f"{key} 1"] == [name]


@pytest.mark.parametrize("kind", CASES)
def test_a_number_that_stays_the_same_is_not(kind: str, answers: dict[str, list[str]]) -> None:
    assert answers[f"{CASES[kind][0]} 0"] == [""]


def test_the_page_has_every_number_once_and_no_other() -> None:
    on_page = [key for key, _value, _change, _told in rows_of(PAGE.read_text(encoding="utf-8"))]
    missing = [key for key in REGISTRY if key not in set(on_page)]
    gone = [key for key in on_page if key not in REGISTRY]
    advice = "run `python -m tools.mutants --new`"
    assert not missing, f"{advice}: the page lacks {missing[:5]}"
    assert not gone, f"{advice}: the page still has {gone[:5]}"
    assert len(on_page) == len(set(on_page))


def test_a_new_constant_would_be_missed(tmp_path: object) -> None:
    """A number that says its unit, a coefficient of a formula and a row of a table are all found."""
    assert {"constants.py ICE_DENSITY", "properties/ice.py enthalpy_chen: 1.26"} <= set(REGISTRY)
    assert "foods/relatives.toml family.sugars.berries.acid" in REGISTRY
    assert not [key for key in REGISTRY if "STAGES" in key or "MOST_ITERATIONS" in key]


def test_every_number_has_a_standing_and_a_reason() -> None:
    for constant in REGISTRY.values():
        standing = standing_of(constant)
        assert standing.name in STANDINGS
        assert standing.why


def test_the_page_gives_back_what_it_was_made_of() -> None:
    page = PAGE.read_text(encoding="utf-8")
    found = kept(page, list(REGISTRY.values()))
    again = "".join(_row(REGISTRY[key], verdict) for key, verdict in found.items())
    assert sorted(rows_of(COLUMNS + again)) == sorted(row for row in rows_of(page) if row[0] in found)


def test_a_journal_is_taken_up_where_it_ended(tmp_path: object) -> None:
    from pathlib import Path

    journal = Path(str(tmp_path)) / "journal.jsonl"
    known = {"key": "a", "written": "1", "verdict": "own", "way": "", "by": "b"}
    journal.write_text(json.dumps(known) + "\n" + json.dumps({**known, "key": "gone"}) + "\n", encoding="utf-8")
    constant = Constant("a", "a.py", (), "1", "other", "constant")
    assert set(Campaign([constant], journal).verdicts) == {"a"}


def test_the_nearest_check_is_the_one_that_moved_most_of_what_it_allows() -> None:
    before = {"check_a.compare_b": [Got("near", 1.0, "1", 0.0), Got("far", 5.0, "5", 0.2)]}
    after = {"check_a.compare_b": [Got("near", 1.1, "1", 0.5), Got("far", 9.0, "5", 0.3)]}
    moved, words = nearest(before, after)  # type: ignore[arg-type]
    assert moved == 0.5
    assert words.startswith("nearest: near, from 1 to 1.1")
    assert nearest(before, before) == (0.0, "")  # type: ignore[arg-type]
