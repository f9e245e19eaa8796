"""No page asks the database more questions because there are more rows in its list."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from drystow.web.batches.models import Batch, Happening
from drystow.web.costs.sums import bring_up_to_date
from drystow.web.dryers.models import Dryer, Service
from drystow.web.foods.models import OwnFood, Recipe
from drystow.web.kit import records
from drystow.web.pantry.models import Package, Place
from tests.web.batch_rows import a_batch, a_weighing, an_item, on_tray
from tests.web.pantry_rows import package, place, today

LISTS = (
    "/batches/", "/batches/?q=berries", "/pantry/", "/pantry/?by=place", "/pantry/?by=food&state=all",
    "/pantry/?q=straw", "/pantry/list/", "/pantry/places/", "/pantry/stock/", "/foods/", "/foods/recipes/", "/dryers/",
    "/costs/", "/costs/?year=all", "/history/", "/history/?kind=pantry.package", "/bin/", "/data/",
)  # fmt: skip
OF_ONE_ROW = (
    "/pantry/count/?place={place}", "/pantry/places/{place}/", "/pantry/lot/A-1/", "/pantry/p/{code}/",
    "/dryers/{dryer}/", "/batches/{batch}/basket/", "/batches/{batch}/trays/", "/batches/{batch}/running/",
    "/batches/{batch}/proof/", "/batches/{batch}/packing/", "/batches/{batch}/labels/", "/batches/{batch}/done/",
)  # fmt: skip


def more(batch: Batch, where: Place, number: int) -> None:
    """One more row for every list."""
    now = timezone.now()
    other = a_batch(
        started_at=now - timedelta(hours=30), ended_at=now - timedelta(hours=2), energy_kwh=9.0, packaging_cost=1.0,
        prediction={"total_h": {"p10": 20.0, "p50": 24.0, "p90": 28.0}},
    )  # fmt: skip
    on_tray(an_item(batch, mass_kg=0.2), 1 + number % 4, 0.2)
    item = an_item(other, price=4.0, shop_price=20.0)
    a_weighing(batch, 9 + number % 10, 700.0 - number)
    records.create(Happening(batch=batch, kind="note", at=now, text=f"Note {number}"))
    made = package(where, batch=other, item=item, lot="A-1")
    package(place(f"Shelf {number}"), lot=f"B-{number}", name=f"Strawberries {number}")
    package(where, batch=batch, item=batch.items.order_by("-pk")[0], lot="A-1", name=f"Berries {number}")
    records.change(made, {"basis": f"looked at {number}"}, expected=made.version)
    composition = {"water": 0.9, "protein": 0.02, "fat": 0.0, "carbohydrate": 0.07, "fibre": 0.0, "ash": 0.01}
    records.create(OwnFood(name=f"Own {number}", food_class="fruit", composition=composition))
    records.create(Recipe(name=f"Dish {number}"))
    dryer = records.create(Dryer(name=f"Dryer {number}", profile="bench-4"))
    records.create(Service(dryer=batch.dryer, kind="gasket", on=today()))
    records.put_in_bin(dryer)
    records.put_in_bin(package(where, lot=f"C-{number}"))


def asked(client: Client, address: str) -> list[str]:
    client.get(address)  # what is worked out or read once is not counted
    bring_up_to_date()
    with CaptureQueriesContext(connection) as found:
        assert client.get(address).status_code == 200
    return [question["sql"] for question in found.captured_queries]


@pytest.mark.parametrize("address", [*LISTS, *OF_ONE_ROW])
def test_more_rows_need_no_more_questions(client: Client, address: str) -> None:
    where = place()
    batch = a_batch(started_at=timezone.now() - timedelta(hours=20), stage="running")
    for number in range(2):
        more(batch, where, number)
    code = Package.objects.order_by("pk")[0].code
    there = address.format(place=where.pk, code=code, dryer=batch.dryer_id, batch=batch.pk)
    few = asked(client, there)
    for number in range(2, 6):
        more(batch, where, number)
    many = asked(client, there)
    assert len(many) <= len(few), "\n".join(sorted(set(many) - set(few)))
