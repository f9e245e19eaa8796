"""Every load in `examples/` is read, simulated, and makes sense."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from drystow.machine.loadfile import read_load
from drystow.machine.run import simulate

HOUR = 3600.0
EXAMPLES = sorted(
    path
    for path in (Path(__file__).parents[2] / "examples").rglob("*.toml")
    if "tray" in tomllib.loads(path.read_text(encoding="utf-8"))
)


def test_there_are_examples() -> None:
    assert {path.name for path in EXAMPLES} >= {"berry-tray.toml", "mixed-load.toml"}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_dries_in_a_plausible_time_and_order(path: Path) -> None:
    load = read_load(path)
    result = simulate(load)
    assert result.ended_by == "dry"
    # household-day (common practice): a load takes between half a day and two days
    assert 8 * HOUR < result.total_time - result.drying_start < 60 * HOUR
    times = [event.time for event in result.events]
    assert times == sorted(times)
    assert all(0.0 <= time <= result.total_time for time in times)
    for item, one in zip(load.items, result.trays, strict=True):
        assert one.primary_end is not None
        assert one.dry_end is not None
        assert 0.0 <= one.freezing_end <= result.drying_start < one.primary_end < one.dry_end <= result.total_time
        assert one.residual_moisture <= one.target_moisture + 1e-6
        # colder than the trap's coldest ice, or warmer than the freezing point, no front can be
        assert (
            load.rig.dryer.trap_floor < one.front_temperature_start <= one.front_temperature_max < item.freezing_point
        )
        assert 0.0 < one.ice_start < one.water_start < one.mass
        assert np.all(np.diff(one.dried_fraction) >= -1e-12)
        assert one.dried_fraction[-1] == 1.0
        assert np.all(np.diff(one.moisture) <= 1e-9)
    machine = result.machine
    assert machine.trap_ice < machine.trap_capacity
    assert load.rig.dryer.air_pressure < result.chamber_pressure.min()
    assert result.chamber_pressure.max() <= machine.peak_pressure + 1e-9
    # ice formed cannot cost less than its heat of sublimation through heaters and a refrigerator (0.79 kWh/kg)
    assert machine.energy / machine.trap_ice > 0.79 * 3.6e6
    assert set(result.sources)
    assert len(result.time) == len(result.chamber_pressure) == len(result.trays[0].moisture)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_run_twice_gives_the_same_answer(path: Path) -> None:
    load = read_load(path)
    one, two = simulate(load), simulate(load, series=False)
    assert one.total_time == two.total_time
    assert [tray.dry_end for tray in one.trays] == [tray.dry_end for tray in two.trays]
