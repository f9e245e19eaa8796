"""Costs: by batch, by serving, by month, against the shop."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from drystow.web.batches.models import Batch, Item
from drystow.web.costs import sums
from drystow.web.costs.sums import bring_up_to_date
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.pantry.models import Package, Place
from tests.web.waiting import waits

PROGRAM = [{"shelf_c": 40.0, "hours": None}]


@pytest.fixture
def kitchen() -> tuple[Dryer, Place]:
    kitchen = records.kitchen()
    records.change(kitchen, {"tariff_per_kwh": 0.25}, expected=kitchen.version)
    return records.create(Dryer(name="Bench", profile="bench-4")), records.create(Place(name="Cellar"))


def batch(kitchen: tuple[Dryer, Place], lot: str, ended: datetime, packed: bool = True, **values: Any) -> Batch:
    """A batch of 4 kg that became 0.5 kg with 20 kWh, for 6 of food and 2 of packages."""
    dryer, place = kitchen
    made = records.create(
        Batch(
            lot=lot,
            title="Peas",
            dryer=dryer,
            program=PROGRAM,
            started_at=ended - timedelta(hours=24),
            ended_at=ended,
            packaging_cost=2.0,
            **({"energy_kwh": 20.0} | values),
        )
    )
    for price, shop in ((4.0, 30.0), (2.0, 15.0)):
        records.create(Item(batch=made, food="f00001", name="Peas", mass_kg=2.0, price=price, shop_price=shop))
    for number in range(2 if packed else 0):
        records.create(
            Package(
                code=f"{lot}-{number}",
                batch=made,
                lot=lot,
                food="f00001",
                name="Peas",
                place=place,
                container="pouch",
                net_mass_kg=0.25,
                left_mass_kg=0.1,
                packed_on=date(2026, 3, 11),
            )
        )
    return made


def costs(client: Client, query: str = "") -> str:
    """The page, once what was changed is summed up."""
    bring_up_to_date()
    return client.get(f"/costs/{query}").content.decode()


def at(year: int, month: int, day: int = 10) -> datetime:
    return timezone.make_aware(datetime(year, month, day, 12))


def test_what_is_not_summed_up_yet_is_said(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    batch(kitchen, "L1", at(2026, 3))
    told = "The latest changes are still being added up"
    assert told in client.get("/costs/").content.decode()
    assert 0 in waits(sums.SUMS)
    assert told not in costs(client)


def test_without_finished_runs_the_page_says_what_will_stand_here(client: Client) -> None:
    assert "No finished run yet" in costs(client)


def test_a_batch_is_counted_by_hand(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    batch(kitchen, "L1", at(2026, 3))
    html = costs(client, "?units=si")
    # arithmetic: 20 kWh x 0.25 = 5; 5 + 6 + 2 = 13; 13 / (0.5 kg / 0.1 kg) = 2.60; 5 / 3.5 kg = 1.43; 45 - 13 = 32
    for shown in ("$5.00 (20.0 kWh)", "$6.00", "$2.00", "$13.00", "$2.60", "$1.43", "$32.00", "500 g"):
        assert shown in html, shown
    assert "Cheaper than the store by" in html
    assert "forecast" not in html


def test_months_and_years_add_up(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    batch(kitchen, "L1", at(2026, 3, 3))
    batch(kitchen, "L2", at(2026, 3, 20))
    batch(kitchen, "L3", at(2025, 12))
    html = costs(client)
    assert "Mar 2026" in html
    assert "$26.00" in html
    assert "Dec 2025" not in html
    assert "Dec 2025" in costs(client, "?year=2025")
    assert "$39.00" in costs(client, "?year=all")
    assert client.get("/costs/?year=1066").status_code == 200


def test_what_was_not_measured_is_marked_as_predicted(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    prediction = {"energy_kwh": 24.0, "trays": [{"dry_kg": 0.3}, {"dry_kg": 0.3}]}
    batch(kitchen, "L1", at(2026, 3), packed=False, energy_kwh=None, prediction=prediction)
    html = costs(client)
    assert "(24.0 kWh, forecast)" in html
    assert '<span class="tag">forecast</span>' in html
    assert "$14.00" in html  # 24 x 0.25 + 6 + 2


def test_what_is_missing_is_said(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    batch(kitchen, "L1", at(2026, 3), energy_kwh=None)
    batch(kitchen, "L2", at(2026, 3), packed=False)
    html = costs(client)
    assert "no electricity known" in html
    assert "nothing is packed yet" in html


def test_without_every_shop_price_nothing_is_compared(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    item = batch(kitchen, "L1", at(2026, 3)).items.first()
    records.change(item, {"shop_price": None}, expected=1)
    assert "than the store" not in costs(client)


def test_food_dearer_than_in_the_shop_is_said_plainly(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    for item in batch(kitchen, "L1", at(2026, 3)).items.all():
        records.change(item, {"shop_price": 1.0}, expected=1)
    html = costs(client)
    assert "More than the store by" in html
    assert "$11.00" in html  # 13 - 2


def test_more_batches_need_no_more_queries(client: Client, kitchen: tuple[Dryer, Place]) -> None:
    batch(kitchen, "L1", at(2026, 3))
    costs(client)
    with CaptureQueriesContext(connection) as few:
        client.get("/costs/")
    for number in range(2, 8):
        batch(kitchen, f"L{number}", at(2026, 3, number))
    costs(client)
    with CaptureQueriesContext(connection) as many:
        client.get("/costs/")
    assert len(many) == len(few)
