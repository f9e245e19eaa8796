"""Wherever oxygen and absorbers are worked out, the kitchen's own altitude counts."""

import ast
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

import drystow
from drystow.packing import plan as packing_plan
from drystow.web.kit import records
from drystow.web.pantry import adapters as pantry_adapters
from drystow.web.plans import making
from drystow.web.plans.made import MadePlan
from tests.cli.run import drystow as drystow_command
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.made_rows import BEANS, a_lot, a_plan, at, clock, short_search  # noqa: F401
from tests.web.pantry_rows import package, place

HIGH = 4000.0  # m
# International Standard Atmosphere (ISO 2533): 61 640 Pa at 4000 m of 101 325 Pa at sea level
THIN = 61640 / 101325


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[float]]:
    """The altitudes at which oxygen was worked out, in a kitchen high up."""
    kitchen = records.kitchen()
    records.change(kitchen, {"altitude_m": HIGH}, expected=kitchen.version)
    pantry_adapters.remembered_plan.cache_clear()
    found: list[float] = []
    real = packing_plan.oxygen_volume_ml

    def spied(inside: Any, mass: Any, solid: Any, altitude: Any, temperature: Any) -> Any:
        found.append(float(altitude))
        return real(inside, mass, solid, altitude, temperature)

    monkeypatch.setattr(packing_plan, "oxygen_volume_ml", spied)
    yield found
    pantry_adapters.remembered_plan.cache_clear()


def packing(client: Client) -> None:
    place()
    ended = timezone.now() - timedelta(hours=1)
    batch = a_batch(stage="packing", started_at=ended - timedelta(hours=20), ended_at=ended)
    on_tray(an_item(batch, CARROTS, shape="slab", size_m=0.006, mass_kg=1.0), 1, 1.0)
    assert client.get(reverse("batch-packing", args=[batch.pk])).status_code == 200


def pantry(client: Client) -> None:
    made = package(place())
    for page in (reverse("package", args=[made.code]), reverse("pantry")):
        assert client.get(page).status_code == 200


def plan(_client: Client) -> None:
    made = a_plan()
    a_lot(made, BEANS, mass_kg=1.5, shape="stick")
    with clock(at(0, 0)):
        assert making.PLAN.work_out(made.pk) is not None


@pytest.mark.parametrize("look", [packing, pantry, plan])
def test_every_page_counts_with_the_air_of_the_kitchen(
    look: Callable[[Client], None], client: Client, seen: list[float]
) -> None:
    look(client)
    assert set(seen) == {HIGH}


def absorbers(made: MadePlan) -> int:
    """What all absorbers on the list take together [cc]."""
    sizes = [(one.count, one.name.values["size"]) for one in made.shopping if "absorber" in str(one.name)]
    assert sizes
    return sum(count * size for count, size in sizes)


def test_fewer_absorbers_are_bought_high_up_and_the_plan_is_outdated_when_the_kitchen_moves() -> None:
    made = a_plan()
    a_lot(made, BEANS, mass_kg=1.5, shape="stick")
    with clock(at(0, 0)):
        low = making.PLAN.work_out(made.pk)
        assert low is not None
        kitchen = records.kitchen()
        records.change(kitchen, {"altitude_m": HIGH}, expected=kitchen.version)
        assert not making.answer_state(made).current
        high = making.PLAN.work_out(made.pk)
    assert high is not None
    assert absorbers(high.result) < absorbers(low.result)


LOTS = """
begin = 2026-09-07
days = 3
{altitude}
[[dryer]]
profile = "bench-4"
[[arrival]]
food = "Beans, snap, green, raw"
shape = "stick"
size = "10 mm"
mass = "1.5 kg"
drying_time = "20 h"
arrives = 2026-09-07T09:00:00
"""


def test_a_plan_file_has_an_altitude_of_its_own(tmp_path: Path) -> None:
    from drystow.packing.plan import pack_batch
    from drystow.packing.shopping import packs_of
    from drystow.planning.schedule.batch_time import Reckoning
    from drystow.planning.schedule.plan import schedule
    from drystow.planning.schedule.plan_file import read_lots

    oxygen, lists = [], []
    for name, altitude in (("low", ""), ("high", 'altitude = "4000 m"')):
        path = tmp_path / f"{name}.toml"
        path.write_text(LOTS.format(altitude=altitude), encoding="utf-8")
        lots = read_lots(path)
        (pack,) = packs_of(lots, schedule(lots, 0.5, workers=1, how=Reckoning(members=5)))
        oxygen.append(pack_batch(pack).oxygen_ml)
        lists.append(drystow_command("schedule", path, "--seconds", "0.5", "--workers", "1").stdout)
    assert oxygen[1] / oxygen[0] == pytest.approx(THIN, rel=2e-3)
    bought = [next(line for line in text.splitlines() if line.startswith("To buy")) for text in lists]
    assert bought[0] != bought[1]


def test_a_wrong_altitude_is_refused_with_its_field(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(LOTS.format(altitude='altitude = "30 km"'), encoding="utf-8")
    done = drystow_command("schedule", path)
    assert done.returncode == 2
    assert "altitude" in done.stderr


def test_no_pack_is_put_together_at_an_altitude_that_nobody_gave() -> None:
    written = []
    for path in Path(drystow.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "PackSpec":
                values = [word.value for word in node.keywords if word.arg == "altitude"]
                written += [(path.name, ast.unparse(value)) for value in values if isinstance(value, ast.Constant)]
                assert values, path
    assert written == []
