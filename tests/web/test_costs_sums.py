"""The sums of the batches follow every change of what they are made of."""

from datetime import UTC, datetime

import pytest
from django.test import Client

from drystow.web.costs.models import BatchSums, Outdated
from drystow.web.costs.sums import bring_up_to_date, rebuild_sums
from drystow.web.kit import records
from drystow.web.pantry.models import Package, Place
from tests.web.batch_rows import a_batch, an_item
from tests.web.pantry_rows import package, place

ENDED = datetime(2026, 3, 1, 2, 0, tzinfo=UTC)


@pytest.fixture
def sums() -> BatchSums:
    """Sums of a batch of 1.6 kg that became two packages of 0.1 kg, for 4 of food."""
    batch = a_batch(ended_at=ENDED, energy_kwh=10.0, packaging_cost=2.0)
    item = an_item(batch, price=4.0, shop_price=20.0)
    cellar = place()
    for _number in range(2):
        package(cellar, batch=batch, item=item, lot=batch.lot)
    return now()


def now() -> BatchSums:
    """The sums of the one batch that has some."""
    bring_up_to_date()
    found: BatchSums = BatchSums.objects.get()
    return found


def test_they_are_those_of_food_and_packages(sums: BatchSums) -> None:
    assert (sums.fresh_kg, sums.dried_kg, sums.food, sums.packaging, sums.shop) == (1.6, 0.2, 4.0, 2.0, 20.0)
    assert (sums.energy_kwh, sums.measured, sums.weighed, sums.missing) == (10.0, True, True, "")
    assert sums.servings == pytest.approx(2.0)  # of 100 g
    assert not Outdated.objects.exists()


def test_a_package_put_in_the_bin_counts_no_more_and_counts_again_when_it_is_taken_back(sums: BatchSums) -> None:
    one = records.put_in_bin(Package.objects.all()[0])
    assert now().dried_kg == pytest.approx(0.1)
    records.take_back(one)
    assert now().dried_kg == pytest.approx(0.2)


def test_a_package_that_goes_to_another_batch_leaves_the_first(sums: BatchSums) -> None:
    other = a_batch()
    one = Package.objects.all()[0]
    records.change(one, {"batch": other}, expected=one.version)
    assert now().dried_kg == pytest.approx(0.1)


def test_a_price_and_the_electricity_written_later_are_seen(sums: BatchSums) -> None:
    item, batch = sums.batch.items.get(), sums.batch
    records.change(item, {"price": 5.5, "shop_price": None}, expected=item.version)
    records.change(batch, {"energy_kwh": 12.0}, expected=batch.version)
    later = now()
    assert (later.food, later.shop, later.energy_kwh) == (5.5, None, 12.0)


def test_a_batch_in_the_bin_or_running_again_has_none(sums: BatchSums) -> None:
    batch = records.put_in_bin(sums.batch)
    bring_up_to_date()
    assert not BatchSums.objects.exists()
    batch = records.take_back(batch)
    assert now().dried_kg == pytest.approx(0.2)
    records.change(batch, {"ended_at": None}, expected=batch.version)
    bring_up_to_date()
    assert not BatchSums.objects.exists()


def test_the_month_is_that_of_the_clock_of_the_kitchen(sums: BatchSums) -> None:
    kitchen = records.kitchen()
    assert str(sums.month) == "2026-03-01"
    records.change(kitchen, {"time_zone": "America/Denver"}, expected=kitchen.version)
    assert str(now().month) == "2026-02-01"  # two o'clock of UTC is still the evening before


def test_rows_written_past_the_records_come_in_when_all_is_summed_up_again(sums: BatchSums) -> None:
    Package.objects.update(net_mass_kg=0.3)
    assert now().dried_kg == pytest.approx(0.2)
    rebuild_sums()
    assert now().dried_kg == pytest.approx(0.6)


def test_a_change_elsewhere_sums_up_nothing(client: Client, sums: BatchSums) -> None:
    records.create(Place(name="Attic"))
    assert not Outdated.objects.exists()
    assert client.get("/costs/").status_code == 200
