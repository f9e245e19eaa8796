"""What a batch costs; the numbers are worked by hand."""

import pytest

from drystow.costs.batch import Prices, batch_cost, load_cost, machine_payback
from drystow.errors import InputError
from drystow.machine.result import LoadResult, MachineResult, TrayResult


def test_a_batch_worked_by_hand() -> None:
    # 30 kWh at 0.15 = 4.50; food 12; 6 jars 3 + absorbers 1.20; oil 0.80: 21.50 in all
    prices = Prices(energy=0.15, food=12.0, packages=3.0, absorbers=1.2, upkeep=0.8)
    cost = batch_cost(prices, 30 * 3.6e6, dry_mass=0.5, water_removed=4.5, servings=20, shop_price=80.0)
    assert cost.energy == pytest.approx(4.5)
    assert cost.packaging == pytest.approx(4.2)
    assert cost.total == pytest.approx(21.5)
    assert cost.per_kg_dry == pytest.approx(43.0)
    assert cost.per_kg_water == pytest.approx(1.0)
    assert cost.energy_per_kg_water / 3.6e6 == pytest.approx(30 / 4.5)
    assert cost.per_serving == pytest.approx(1.075)
    assert cost.saving == pytest.approx(18.5)


def test_without_a_shop_price_there_is_no_saving() -> None:
    assert batch_cost(Prices(0.2, 5.0), 3.6e6, 0.1, 0.9, 4).saving is None


def test_a_simulated_load_brings_its_own_energy_and_water() -> None:
    tray = TrayResult("peas", 2.0, 0.4, 1.6, 1.5, 0, 1, 2, 250, 255, 255, 260, 0.03, 0.2, 300)
    machine = MachineResult(1.5, 5, 0, 0, 36e6, 36e6, 36e6)
    load = LoadResult("test", (tray,), machine, 1e5, 1e4, "dry", "dry")
    cost = load_cost(Prices(0.1, 4.0), load, servings=10)
    assert cost.energy == pytest.approx(3.0)  # 30 kWh at 0.10
    assert cost.per_kg_dry == pytest.approx(7.0 / 0.5)  # 0.4 kg solids at 20% moisture are 0.5 kg
    assert cost.per_kg_water == pytest.approx(3.0 / 1.5)


def test_payback_needs_a_saving() -> None:
    assert machine_payback(2500.0, -1.0, 50.0) is None


@pytest.mark.parametrize(("field", "value"), [("energy", -1.0), ("food", float("nan"))])
def test_prices_below_zero_are_refused(field: str, value: float) -> None:
    prices = {"energy": 0.1, "food": 1.0, field: value}
    with pytest.raises(InputError, match=field):
        Prices(**prices)
    with pytest.raises(InputError, match="servings"):
        batch_cost(Prices(0.1, 1.0), 1.0, 1.0, 1.0, 0)
