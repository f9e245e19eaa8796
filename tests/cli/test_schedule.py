"""``drystow plan`` on an example."""

import json
import re
from datetime import datetime
from pathlib import Path

import pytest
import vobject

from tests.cli.run import ROOT, drystow

EXAMPLE = ROOT / "examples" / "planning" / "under-way.toml"
WAITED_TOO_LONG = """
begin = 2026-09-07
days = 4
[[dryer]]
name = "One"
profile = "bench-4"
[[lot]]
name = "Old breast"
food = "Chicken, breast, boneless, skinless, raw"
shape = "cube"
size = "12 mm"
mass = "2 kg"
tray_mass = "1 kg"
drying_time = "20 h"
arrives = 2026-09-03T09:00:00
[[fixed]]
dryer = "One"
start = 2026-09-07T18:00:00
end = 2026-09-08T18:00:00
trays = { "Old breast" = 1 }
begun = false
"""


def test_a_plan_file_gives_batches_bound_reasons_and_a_calendar(tmp_path: Path) -> None:
    calendar = tmp_path / "plan.ics"
    done = drystow("plan", EXAMPLE, "--json", "--seconds", "4", "--calendar", calendar)
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["saved_value"] <= data["bound"] * (1 + 1e-9) <= data["total_value"] * (1 + 1e-6)
    assert 0 <= data["gap"] <= 1
    for batch in data["batches"]:
        assert datetime.fromisoformat(batch["start"]) < datetime.fromisoformat(batch["end"])
        assert sum(lot["trays"] for lot in batch["lots"]) == batch["trays"] <= batch["places"]
    assert any(batch["fixed"] for batch in data["batches"])
    assert all(one["reason"] and one["rule"] for one in data["left_out"])
    events = vobject.readOne(calendar.read_text(encoding="utf-8")).vevent_list
    assert len(events) == sum(2 if batch["fixed"] else 3 for batch in data["batches"])


def test_people_read_a_table_with_value_bound_and_cautions() -> None:
    done = drystow("plan", EXAMPLE, "--seconds", "2")
    assert done.returncode == 0, done.stderr
    assert "no plan saves more than" in done.stdout
    simple = r"Simple rules would save: loading in order of arrival [\d.]+, loading what spoils first [\d.]+\."
    assert re.search(simple, done.stdout)
    assert "Caution: Keep waiting food at 40 °F (4 °C) or colder" in done.stdout


def test_a_wrong_file_is_refused_with_the_field(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text("days = 3\n[[dryer]]\n[[arrival]]\n", encoding="utf-8")
    done = drystow("plan", path)
    assert done.returncode == 2
    assert "begin" in done.stderr


def test_food_that_waited_too_long_has_its_verdict_in_the_table_the_data_and_the_calendar(tmp_path: Path) -> None:
    path, calendar = tmp_path / "plan.toml", tmp_path / "plan.ics"
    path.write_text(WAITED_TOO_LONG, encoding="utf-8")
    done = drystow("plan", path, "--seconds", "0.5", "--calendar", calendar)
    assert done.returncode == 0, done.stderr
    read = " ".join(done.stdout.split())
    assert "(frozen)" not in read
    # FoodSafety.gov, cold food storage chart (read): raw poultry 1 to 2 days in the refrigerator
    assert "Old breast: do not use it. It waited too long; it had to be dried or frozen by Fri, Sep 4, 9:00 am" in read
    assert "Value saved: 0.00 of 2.00" in read
    events = vobject.readOne(calendar.read_text(encoding="utf-8")).vevent_list
    assert {event.description.value for event in events} == {"Old breast: waited too long: do not use it"}
    data = json.loads(drystow("plan", path, "--seconds", "0.5", "--json").stdout)
    assert [lot["verdict"] for batch in data["batches"] for lot in batch["lots"]] == ["do_not_use"]
    assert {one["verdict"] for one in data["left_out"]} == {"do_not_use"}
    assert sum(one["mass_kg"] for one in data["left_out"]) == 2.0


@pytest.mark.parametrize(
    ("tariff", "told"),
    [("", "not counted; no electricity price set"), ("[tariff]\nprice = 0.20\n", "Electricity: 0.00")],
)
def test_only_a_plan_without_a_tariff_says_so_whatever_it_costs(tariff: str, told: str, tmp_path: Path) -> None:
    path = tmp_path / "lots.toml"
    path.write_text(WAITED_TOO_LONG + tariff, encoding="utf-8")
    done = drystow("plan", path, "--seconds", "0.5")
    assert done.returncode == 0, done.stderr
    assert told in " ".join(done.stdout.split())
    assert ("no electricity price set" in " ".join(done.stdout.split())) is (not tariff)
