"""The program of a batch and its start."""

import re

import pytest
from django.test import Client

from drystow.web.batches.models import Batch
from tests.web.batch_rows import a_batch, an_item, on_tray


def steps(*rows: tuple[str, str], **more: str) -> dict[str, str]:
    sent = {"step-TOTAL_FORMS": str(len(rows)), "step-INITIAL_FORMS": "0", "freezer": "dryer", "version": "1"}
    for number, (shelf, hours) in enumerate(rows):
        sent |= {f"step-{number}-shelf": shelf, f"step-{number}-hours": hours}
    return sent | more


def loaded() -> Batch:
    batch = a_batch()
    item = an_item(batch)
    on_tray(item, 1, 0.8)
    on_tray(item, 2, 0.8)
    return batch


def test_the_program_shows_range_margin_and_energy(client: Client) -> None:
    page = client.get(f"/batches/{loaded().pk}/program/").content.decode()
    low, high = (
        float(value) for value in re.search("([\\d.]+) to ([\\d.]+) h in 8 of 10 simulated runs", page).groups()
    )
    assert 4 < low < high < 120
    assert "to spare" in page or "too warm" in page
    assert "kWh" in page


def test_steps_are_saved_in_either_unit_and_empty_rows_left_out(client: Client) -> None:
    batch = loaded()
    sent = steps(("-10 degC", "3"), ("104 degF", ""), ("", ""), freezer="household freezer")
    assert client.post(f"/batches/{batch.pk}/program/", sent).status_code == 302
    saved = Batch.objects.get()
    assert saved.program == [{"shelf_c": -10.0, "hours": 3.0}, {"shelf_c": 40.0, "hours": None}]
    assert saved.freezer == "household freezer"


def test_a_step_can_be_removed(client: Client) -> None:
    batch = loaded()
    client.post(f"/batches/{batch.pk}/program/without/0/", steps(("-10 degC", "3"), ("104 degF", "")))
    assert Batch.objects.get().program == [{"shelf_c": 40.0, "hours": None}]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ((("", ""),), "at least one step"),
        ((("40 degC", ""), ("50 degC", "2")), "Only the last step"),
        ((("", "2"),), "Enter the shelf temperature of this step"),
        ((("hot", "2"),), "hot"),
    ],
)
def test_a_wrong_program_comes_back_with_the_reason(client: Client, rows: tuple[tuple[str, str]], words: str) -> None:
    batch = loaded()
    page = client.post(f"/batches/{batch.pk}/program/", steps(*rows)).content.decode()
    assert words in page
    assert Batch.objects.get().version == 1


def test_a_shelf_warmer_than_the_dryer_allows_is_told(client: Client) -> None:
    batch = loaded()
    page = client.post(f"/batches/{batch.pk}/program/", steps(("90 degC", "")), follow=True).content.decode()
    assert "is out of range for this shelf; write" in page
    assert "start" not in re.findall(r"<button[^>]*>([^<]*)", page)


def test_somebody_elses_program_is_not_overwritten(client: Client) -> None:
    batch = loaded()
    client.post(f"/batches/{batch.pk}/program/", steps(("30 degC", "")))
    page = client.post(f"/batches/{batch.pk}/program/", steps(("20 degC", ""))).content.decode()
    assert "Someone changed this meanwhile" in page
    assert Batch.objects.get().program[0]["shelf_c"] == 30.0


def test_starting_keeps_the_forecast_of_that_moment(client: Client) -> None:
    batch = loaded()
    answer = client.post(f"/batches/{batch.pk}/start/")
    begun = Batch.objects.get()
    assert answer.headers["Location"] == f"/batches/{batch.pk}/running/"
    assert begun.stage == "running"
    assert begun.started_at is not None
    total = begun.prediction["total_h"]
    assert total["p10"] < total["p50"] < total["p90"]
    assert [tray["tray"] for tray in begun.prediction["trays"]] == [1, 2]
    client.post(f"/batches/{batch.pk}/start/")
    assert Batch.objects.get().started_at == begun.started_at


def test_an_empty_batch_does_not_start(client: Client) -> None:
    batch = a_batch()
    page = client.post(f"/batches/{batch.pk}/start/", follow=True).content.decode()
    assert "no food on the trays" in page
    assert Batch.objects.get().started_at is None
