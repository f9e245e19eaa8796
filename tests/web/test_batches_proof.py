"""Whether it is dry: the evidence and its words."""

import pytest
from django.test import Client

from drystow.web.batches.assess import Solids, assess, solids_of
from drystow.web.batches.models import Batch, Happening
from tests.web.batch_rows import BERRIES, a_batch, a_weighing, an_item, on_tray

SOLIDS = Solids(0.140, 0.120, 0.160, 0.1443)


def dried() -> Batch:
    batch = a_batch(stage="proof")
    on_tray(an_item(batch), 1, 1.0)
    return batch


def test_one_weighing_is_never_called_dry() -> None:
    found = assess([a_weighing(dried(), 8, 140)], SOLIDS)
    assert not found.steady
    assert found.words == "One weighing says little: dry on for an hour and weigh again."


def test_a_lost_weight_is_not_yet() -> None:
    batch = dried()
    found = assess([a_weighing(batch, 8, 150), a_weighing(batch, 9, 148)], SOLIDS)
    assert (found.steady, found.words) == (False, "Lost 2 g in the last hour: not yet.")


def test_steady_for_an_hour_within_the_steps_of_the_scale() -> None:
    batch = dried()
    found = assess([a_weighing(batch, 8, 150), a_weighing(batch, 9, 149)], SOLIDS)
    assert found.steady
    assert "Steady within the scale's 1 g over the last hour" in found.words
    assert "Cut the thickest piece open" in found.words


def test_half_an_hour_is_too_short_and_a_gain_is_asked_about() -> None:
    batch = dried()
    assert "Too short to tell" in assess([a_weighing(batch, 8, 150), a_weighing(batch, 8.5, 150)], SOLIDS).words
    assert "took up moisture" in assess([a_weighing(batch, 8, 150), a_weighing(batch, 10, 155)], SOLIDS).words


def test_the_last_hour_counts_not_the_last_weighing() -> None:
    batch = dried()
    rows = [a_weighing(batch, 8, 160), a_weighing(batch, 8.75, 151), a_weighing(batch, 9, 150)]
    assert assess(rows, SOLIDS).words == "Lost 10 g in the last hour: not yet."


def test_a_coarse_scale_is_told() -> None:
    batch = dried()
    rows = [a_weighing(batch, hour, 150, resolution_g=5.0) for hour in (8, 9)]
    assert "coarse for so little food" in assess(rows, SOLIDS).words


def test_moisture_is_what_is_not_solids_with_the_range_of_the_composition() -> None:
    found = assess([a_weighing(dried(), 8, 160)], SOLIDS)
    # wet-basis moisture is (mass - dry mass) / mass by definition
    assert found.moisture == pytest.approx(20 / 160)
    assert found.moisture_low == 0.0
    assert found.moisture_high == pytest.approx(40 / 160)


def test_solids_come_from_the_composition() -> None:
    solids = solids_of([(BERRIES, 1.0, 0.03)])
    assert solids.mass == pytest.approx(0.158, abs=0.003)  # usda-fdc: 84.2 g of water in 100 g
    assert solids.low < solids.mass < solids.high
    assert solids.dry == pytest.approx(solids.mass / 0.97)


def test_the_page_shows_each_tray_and_leaves_corrected_weighings_out(client: Client) -> None:
    batch = dried()
    wrong = a_weighing(batch, 8, 999)
    a_weighing(batch, 8, 171, corrects=wrong)
    a_weighing(batch, 9, 170)
    page = client.get(f"/batches/{batch.pk}/proof/?units=si").content.decode()
    assert "Blueberries, raw" in page
    assert "999 g" not in page
    assert "Steady within" in page
    assert "Should weigh at the end" in page


def test_a_cut_piece_is_noted(client: Client) -> None:
    batch = dried()
    client.post(f"/batches/{batch.pk}/proof/", {"inside": "ice", "tray": "1", "text": "the big one"})
    row = Happening.objects.get()
    assert (row.kind, row.text) == ("core", "Tray 1: ice inside. the big one")
    assert (row.tray, row.finding) == (1, "ice")
    assert (
        "Tray 7 has no food"
        in client.post(f"/batches/{batch.pk}/proof/", {"inside": "ice", "tray": "7"}).content.decode()
    )


def test_an_empty_batch_leads_to_the_trays(client: Client) -> None:
    assert "No food was put on trays" in client.get(f"/batches/{a_batch().pk}/proof/").content.decode()


def test_the_queries_do_not_grow_with_trays_and_weighings(client: Client) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    batch = dried()
    a_weighing(batch, 7, 200)
    client.get(f"/batches/{batch.pk}/proof/")
    for screen in ("proof", "running"):
        with CaptureQueriesContext(connection) as few:
            client.get(f"/batches/{batch.pk}/{screen}/")
        for hour in range(8, 14):
            a_weighing(batch, hour, 190)
            on_tray(an_item(batch), 2, 0.1)
        with CaptureQueriesContext(connection) as many:
            client.get(f"/batches/{batch.pk}/{screen}/")
        assert len(many) == len(few)
