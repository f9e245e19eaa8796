"""First steps: progress comes from the data."""

from django.test import Client

from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.pantry.models import Place


def test_the_empty_kitchen_begins_with_the_guide(client: Client) -> None:
    assert 'href="/start/"' in client.get("/").content.decode()
    html = client.get("/start/").content.decode()
    assert "0 of 5 done" in html
    assert html.count('class="card now"') == 1


def test_each_step_counts_when_its_data_exists(client: Client) -> None:
    records.create(Dryer(name="Bench", profile="bench-4"))
    assert "1 of 5 done" in client.get("/start/").content.decode()
    records.create(Place(name="Cellar"))
    records.change(records.kitchen(), {"people": 3}, expected=1)
    assert "3 of 5 done" in client.get("/start/").content.decode()
    records.put_in_bin(Place.objects.get())
    assert "2 of 5 done" in client.get("/start/").content.decode()


def test_the_guide_can_be_left(client: Client) -> None:
    assert client.post("/start/").status_code == 302
    assert records.kitchen().guide_done
