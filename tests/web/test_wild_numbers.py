"""Numbers that nobody means, in addresses and in hidden fields of forms: an ordinary answer, never a breakdown."""

import pytest
from django.test import Client
from django.utils import timezone

from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.plans.models import Plan
from tests.web.batch_rows import a_batch, an_item, on_tray

WILD = ["9" * 5000, "9" * 400, "9" * 19, "²", "-1", "1e9", "٣", "NaN"]


@pytest.fixture
def places(client: Client) -> dict[str, int]:
    batch = a_batch()
    item = an_item(batch)
    on_tray(item, 1, 0.5)
    dryer = records.create(Dryer(name="Own", profile="bench-4"))
    plan = records.create(Plan(title="Week", begin=timezone.localdate()))
    return {"batch": batch.pk, "item": item.pk, "dryer": dryer.pk, "plan": plan.pk}


@pytest.mark.parametrize("number", WILD, ids=lambda text: ascii(text)[:12])
@pytest.mark.parametrize(
    "address",
    [
        "/costs/?year={}",
        "/dryers/{dryer}/readings/?batch={}",
        "/batches/{batch}/running/?correct={}",
        "/plans/{plan}/lots/?copy={}",
        "/batches/{}/",
        "/foods/own/{}/",
        "/history/?page={}",
        "/batches/?page={}",
    ],
)
def test_an_address_with_a_wild_number_is_answered(
    client: Client, places: dict[str, int], address: str, number: str
) -> None:
    path = address.replace("{}", number).format(**places)
    assert client.get(path).status_code < 500


@pytest.mark.parametrize("number", WILD, ids=lambda text: ascii(text)[:12])
def test_a_form_with_a_wild_number_is_answered(client: Client, places: dict[str, int], number: str) -> None:
    batch, item = places["batch"], places["item"]
    for path, data in (
        ("/bin/restore/", {"kind": "batches.batch", "number": number}),
        (f"/batches/{batch}/trays/take/", {"load": number}),
        (f"/batches/{batch}/trays/put/", {"item": number, "tray": "1", "mass": "1 lb"}),
        (f"/batches/{batch}/trays/put/", {"item": str(item), "tray": number, "mass": number}),
        (f"/batches/{batch}/running/weighing/", {"corrects": number, "tray": number, "gross": number, "tare": "1 lb"}),
        (f"/batches/{batch}/basket/", {"food": f"own:{number}", "mass": number, "size": number, "shape": "slab"}),
        (
            f"/batches/{batch}/basket/add/",
            {"food": f"recipe:{number}", "mass": "1 lb", "size": "1 in", "price": number},
        ),
        ("/settings/", {"version": number, "altitude_m": number, "tariff_per_kwh": number, "people": number}),
    ):
        assert client.post(path, data).status_code < 500, path
