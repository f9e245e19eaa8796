"""Whether it is dry: the answer for each tray, its evidence, and what is written down there."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.utils import timezone

from drystow.keeping.food_code import LOWEST_ACTIVITY
from drystow.web.batches import judging
from drystow.web.batches.adapters import tray_loads
from drystow.web.batches.evidence_adapters import question_of
from drystow.web.batches.judged import TrayJudged
from drystow.web.batches.judging import JudgementState
from drystow.web.batches.models import Batch, Happening, PressureRise, Sample, Unproved
from drystow.web.batches.proof_view import dry_mass, keeping_words, trays_view
from drystow.web.batches.runforms import SHORT
from tests.web.batch_rows import BERRIES, CHICKEN, a_batch, a_weighing, an_item, on_tray
from tests.web.judged_rows import a_tray, judged_trays
from tests.web.queries import queries
from tests.web.waiting import waits

NOON = datetime(2026, 3, 1, 0, 0, tzinfo=UTC)
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def few_members(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judging, "MEMBERS", 40)


def dried(food: Any = BERRIES, **values: Any) -> Batch:
    """A batch whose food went in on the evening before 1 March 2026 and whose run ended at ten in the evening."""
    usual = {"stage": "proof", "started_at": NOON - timedelta(hours=12), "ended_at": NOON + timedelta(hours=22)}
    batch = a_batch(**(usual | {"drying_began_at": NOON - timedelta(hours=6)} | values))
    opened = {"skin_state": "halved"} if food is BERRIES else {}  # a whole one bursts or dries for days
    on_tray(an_item(batch, food, **opened), 1, 0.8)
    return batch


def page_of(client: Client, batch: Batch) -> str:
    """The proof with the answer worked out."""
    judging.DRYNESS.work_out(batch.pk)
    return str(client.get(f"/batches/{batch.pk}/proof/?units=si").content.decode())


def test_the_dry_mass_comes_from_the_composition() -> None:
    solids = dry_mass([(BERRIES, 1.0, 0.0)])
    assert solids == pytest.approx(0.158, abs=0.003)  # usda-fdc: 84.2 g of water in 100 g
    assert dry_mass([(BERRIES, 1.0, 0.03)]) == pytest.approx(solids / 0.97)


def test_the_first_look_says_that_it_is_being_worked_out_and_asks_again_by_itself(client: Client) -> None:
    batch = dried()
    page = client.get(f"/batches/{batch.pk}/proof/").content.decode()
    assert "Calculating from everything recorded" in page
    assert 'hx-trigger="every 2s"' in page
    assert ">Check again</a>" in page  # the way without JavaScript
    assert waits(judging.DRYNESS.task) == [batch.pk]


def test_while_the_run_goes_on_nothing_is_packed(client: Client) -> None:
    page = client.get(f"/batches/{dried(ended_at=None, stage='running').pk}/proof/").content.decode()
    assert "End the run first" in page
    assert "Next: packing" not in page


def test_two_weighings_far_above_the_solids_that_still_fall_are_not_dry(client: Client) -> None:
    batch = dried(ended_at=NOON + timedelta(hours=11))
    a_weighing(batch, 9, 190)
    a_weighing(batch, 11, 175)
    page = page_of(client, batch)
    assert "Tray 1, not dry yet" in page
    assert 'hx-trigger="every 2s"' not in page
    assert "2 weighings; it lost 15.0 g in the last 2.0 h" in page
    assert "sign it’s not dry" in page
    assert "Some trays may not be dry." in page
    assert '<button class="button quiet" name="stage" value="packing">Next: packing</button>' in page


def test_the_germs_of_moist_trays_are_listed_once_and_only_where_they_may_grow(client: Client) -> None:
    batch = dried()
    moist, dry = (
        trays_view(batch, tray_loads(batch), judged_trays(NOON, [a_tray(NOON, activity=activity)]))[0]
        for activity in ((0.4, 0.7, 0.9), (0.2, 0.3, 0.5))
    )
    assert (moist.germs, dry.germs) == (True, False)
    shown = {"batch": batch, "trays": [moist, moist], "germs": LOWEST_ACTIVITY.items(), "known": JudgementState()}
    page = render_to_string("batches/proof_part.html", shown)
    assert page.count('<a href="#germs">') == 2
    assert page.count("Staphylococcus aureus") == 1
    assert "from 0.83: Staphylococcus aureus" in page  # the lowest limit in fda-hazards-app4


def test_a_weight_that_stands_for_hours_at_its_solids_is_dry(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    batch = dried()
    for hour in (12, 16, 20):
        a_weighing(batch, hour, 129.0, resolution_g=0.1)
    monkeypatch.setattr(judging, "MEMBERS", 200)
    page = page_of(client, batch)
    assert "Tray 1 is dry: " in page
    assert "Some trays may not be dry." not in page
    assert ">Next: packing</button>" in page
    assert "Below 0.60, neither germs nor mold grow" in page


@pytest.mark.parametrize("finding", ["cold", "soft", "ice"])
def test_a_wet_core_is_never_told_that_it_keeps(client: Client, monkeypatch: pytest.MonkeyPatch, finding: str) -> None:
    batch = dried()
    for hour in (12, 16, 20):
        a_weighing(batch, hour, 129.0, resolution_g=0.1)
    monkeypatch.setattr(judging, "MEMBERS", 200)
    core = {"tray": 1, "inside": finding, "at": "2026-03-01T21:00"}
    assert client.post(f"/batches/{batch.pk}/proof/", core).status_code == 302
    page = page_of(client, batch)
    assert "Tray 1 is not dry: a piece was found wet or cold" in page
    assert "neither germs nor mold" not in page
    assert "The worst piece decides whether it keeps" in page
    assert "Some trays may not be dry." in page


@pytest.mark.parametrize("verdict", ["dry", "nearly", "not_dry", "not_enough_evidence", "contradiction"])
@pytest.mark.parametrize("wet", ["", "the thickest piece was cold inside when it was cut"])
@pytest.mark.parametrize("highest", [0.2, 0.65])
def test_only_a_dry_tray_without_a_wet_piece_reads_that_it_keeps(verdict: str, wet: str, highest: float) -> None:
    tray = TrayJudged(
        number=1, name="Peas", verdict=verdict, words="", chance=0.999, moisture=(0.01, 0.02, 0.03),
        activity=(0.05, 0.1, 0.2), target=0.03, moistures=(), ready=(None, None), weigh=None, pieces=(), notes=(),
        wettest=(0.1, 0.2, highest), wet_piece=wet,
    )  # fmt: skip
    keeps = "neither germs nor mold" in keeping_words(tray)
    assert keeps == (verdict == "dry" and not wet and highest < 0.6)


def test_nobody_goes_on_to_packing_what_is_not_known_to_be_dry_without_confirming_it(client: Client) -> None:
    batch = dried()
    page = client.get(f"/batches/{batch.pk}/proof/").content.decode()
    assert 'name="confirmed"' in page
    answer = client.post(f"/batches/{batch.pk}/move/", {"stage": "packing"}, follow=True).content.decode()
    assert "No one knows yet that everything is dry" in answer
    assert Batch.objects.get().stage == "proof"
    assert not Unproved.objects.exists()
    client.post(f"/batches/{batch.pk}/move/", {"stage": "packing", "confirmed": "yes"})
    assert Batch.objects.get().stage == "packing"
    (row,) = Unproved.objects.all()
    assert (row.tray, row.chance, row.packed) == (1, None, False)
    assert "not known to be dry" in client.get("/history/").content.decode()


def test_without_weighings_it_asks_for_evidence(client: Client) -> None:
    page = page_of(client, dried())
    assert "can’t tell yet" in page


def test_a_weight_that_cannot_be_is_called_so(client: Client) -> None:
    batch = dried()
    a_weighing(batch, 12, 130)
    a_weighing(batch, 14, 160)
    page = page_of(client, batch)
    assert "Tray 1: the numbers don’t fit together" in page


def test_a_new_weighing_makes_the_answer_old_but_keeps_it_on_the_page(client: Client) -> None:
    batch = dried()
    a_weighing(batch, 9, 190)
    page_of(client, batch)
    a_weighing(batch, 11, 175)
    page = client.get(f"/batches/{batch.pk}/proof/").content.decode()
    assert "Updating with what came in since" in page
    assert "Tray 1" in page
    first = judging.DRYNESS.kept(batch.pk).fingerprint
    judging.DRYNESS.work_out(batch.pk)
    assert judging.DRYNESS.kept(batch.pk).fingerprint != first


def test_corrected_weighings_are_left_out(client: Client) -> None:
    batch = dried()
    wrong = a_weighing(batch, 8, 999)
    a_weighing(batch, 8, 171, corrects=wrong)
    a_weighing(batch, 9, 170)
    page = page_of(client, batch)
    assert "Blueberries, raw" in page
    assert "999 g" not in page
    assert "Target weight" in page


def test_raw_meat_is_dry_but_not_cooked(client: Client) -> None:
    page = page_of(client, dried(CHICKEN))
    assert "Raw animal food: dry is not cooked." in page
    assert re.search("165.°F", page)  # usda-fsis: safe minimum internal temperature of poultry


def test_the_part_for_htmx_holds_no_form_that_a_person_fills_in(client: Client) -> None:
    part = client.get(f"/batches/{dried().pk}/proof/", headers=HTMX).content.decode()
    assert part.startswith('<div id="proof"')
    assert not re.search(r"<(select|textarea)", part)
    assert "<main" not in part


def test_the_picture_tells_in_words_what_it_shows(client: Client) -> None:
    batch = dried()
    a_weighing(batch, 12, 129.0)
    page_of(client, batch)
    part = client.get(f"/batches/{batch.pk}/proof/picture/1/", headers=HTMX).content.decode()
    assert "Each dot is one of 20 equally likely results" in part
    assert part.count("<svg") == 2
    assert "<main" in client.get(f"/batches/{batch.pk}/proof/picture/1/").content.decode()
    assert client.get(f"/batches/{batch.pk}/proof/picture/9/").status_code == 404


def test_a_cut_piece_is_noted_and_tells_how_far_it_can_be_trusted(client: Client) -> None:
    batch = dried()
    client.post(f"/batches/{batch.pk}/proof/", {"inside": "ice", "tray": "1", "text": "the big one", "at": ""})
    row = Happening.objects.get()
    assert (row.kind, row.text) == ("core", "Tray 1: ice inside. the big one")
    assert (row.tray, row.finding) == (1, "ice")
    wrong = client.post(f"/batches/{batch.pk}/proof/", {"inside": "ice", "tray": "7"}).content.decode()
    assert "Tray 7 has no food" in wrong
    page = page_of(client, batch)
    assert "with the last ice in a few thick pieces still passes" in page
    assert "ice in the thickest piece" in page


def test_what_is_found_in_a_piece_is_short_enough_for_a_phone_and_has_a_choice_for_each() -> None:
    assert [name for name, _words in SHORT] == [name for name, _words in Happening.FINDINGS]
    assert max(len(str(words)) for _name, words in SHORT) <= 24  # of about 30 at 390 px, 16 px type


def test_a_sample_from_the_oven_is_noted_and_corrected(client: Client) -> None:
    batch = dried()
    address = f"/batches/{batch.pk}/proof/sample/"
    sent = {"kind": "oven", "tray": "1", "before": "5.2 g", "after": "5.1 g", "resolution": "0.01 g"}
    assert client.post(address, sent).status_code == 302
    first = Sample.objects.get()
    assert (first.before_g, first.after_g, first.resolution_g) == (5.2, 5.1, 0.01)
    filled = client.get(f"{address}?correct={first.pk}").content.decode()
    assert f'name="corrects" value="{first.pk}"' in filled
    client.post(address, sent | {"after": "5 g", "corrects": first.pk})
    assert "<del>" in client.get(f"/batches/{batch.pk}/proof/").content.decode()
    assert "already corrected" in client.post(address, sent | {"corrects": first.pk}).content.decode()
    assert Sample.objects.count() == 2


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"kind": "oven", "before": "5 g", "after": "6 g"}, "can only lose weight"),
        ({"kind": "oven", "before": "5 g"}, "Enter what you measured"),
        ({"kind": "meter"}, "Enter what you measured"),
        ({"kind": "meter", "activity": "1.4"}, "1.4 is too large; enter 1 or less"),
    ],
)
def test_a_sample_that_cannot_be_comes_back(client: Client, sent: dict[str, str], words: str) -> None:
    batch = dried()
    page = client.post(f"/batches/{batch.pk}/proof/sample/", {"tray": "1"} | sent).content.decode()
    assert words in page
    assert Sample.objects.count() == 0


def test_a_meter_that_shows_a_wet_sample_counts(client: Client) -> None:
    batch = dried()
    a_weighing(batch, 12, 129.0)
    client.post(f"/batches/{batch.pk}/proof/sample/", {"kind": "meter", "tray": "1", "activity": "0.62"})
    assert "sign it’s not dry" in page_of(client, batch)


def test_when_drying_began_is_written_down(client: Client) -> None:
    batch = dried(drying_began_at=None)
    address = f"/batches/{batch.pk}/proof/began/"
    early = client.post(address, {"version": 1, "at": "2026-02-01T10:00"}).content.decode()
    assert "before the food was loaded" in early
    client.post(address, {"version": 1, "at": "2026-02-28T20:00"})
    assert Batch.objects.get().drying_began_at is not None


def test_dried_on_the_time_outside_does_not_count(client: Client) -> None:
    batch = dried(ended_at=timezone.now() - timedelta(minutes=30), started_at=timezone.now() - timedelta(hours=20))
    assert client.post(f"/batches/{batch.pk}/proof/dry-on/").headers["Location"].endswith("/running/")
    after = Batch.objects.get()
    assert (after.stage, after.ended_at) == ("running", None)
    door = Happening.objects.get()
    assert (door.kind, door.at) == ("door", batch.ended_at)
    assert door.minutes == pytest.approx(30, abs=1)


def test_a_batch_that_never_began_asks_when(client: Client) -> None:
    batch = dried(started_at=None, ended_at=None, drying_began_at=None)
    assert (
        "drying has not started, so nothing can be said yet"
        in client.get(f"/batches/{batch.pk}/proof/").content.decode()
    )


def test_an_empty_batch_leads_to_the_trays(client: Client) -> None:
    assert "No food is on the trays of this batch" in client.get(f"/batches/{a_batch().pk}/proof/").content.decode()


def test_the_questions_do_not_grow_with_trays_and_weighings(client: Client) -> None:
    batch = dried()
    for tray in (2, 3, 4):
        on_tray(an_item(batch), tray, 0.1)
        for hour in (8, 10, 12):
            a_weighing(batch, hour, 30, tray=tray)
    page_of(client, batch)
    with queries(at_most=14):
        client.get(f"/batches/{batch.pk}/proof/")


def with_valve(batch: Batch) -> Batch:
    batch.dryer.trap_valve = True
    batch.dryer.save()
    return batch


def test_only_a_dryer_with_a_valve_to_its_trap_is_asked_for_pressures(client: Client) -> None:
    batch = dried()
    assert "Close the valve to the cold trap" not in client.get(f"/batches/{batch.pk}/proof/").content.decode()
    page = client.get(f"/batches/{with_valve(batch).pk}/proof/?units=us").content.decode()
    assert "Close the valve to the cold trap" in page
    assert 'name="before"' in page


def test_pressures_with_the_trap_shut_off_are_noted_and_corrected(client: Client) -> None:
    batch = with_valve(dried())
    address = f"/batches/{batch.pk}/proof/rise/"
    sent = {"before": "300", "after": "310 mTorr", "seconds": "60", "at": "2026-03-01T16:00", "note": "warm"}
    assert client.post(f"{address}?units=us", sent).status_code == 302
    first = PressureRise.objects.get()
    # 1 Torr = 101325/760 Pa (definition); a bare number counts in the reader's unit
    assert (first.before_pa, first.after_pa) == pytest.approx((0.3 * 101325 / 760, 0.31 * 101325 / 760), abs=1e-3)
    assert 'value="300 mTorr"' in client.get(f"{address}?correct={first.pk}&units=us").content.decode()
    client.post(address, sent | {"after": "330 mTorr", "corrects": first.pk})
    assert (
        "<del>300 mTorr → 310 mTorr, 60 s</del>" in client.get(f"/batches/{batch.pk}/proof/?units=us").content.decode()
    )
    assert "already corrected" in client.post(address, sent | {"corrects": first.pk}).content.decode()
    assert PressureRise.objects.count() == 2


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("before", "", "Fill this in."),
        ("after", "3000 Pa", "is out of range; enter"),
        ("seconds", "0", "0 is too small; enter 1 or more"),
        ("before", "40 degC", "40 degC&#x27; is not a pressure"),
    ],
)
def test_pressures_that_cannot_be_come_back(client: Client, field: str, value: str, words: str) -> None:
    batch = with_valve(dried())
    sent = {"before": "40 Pa", "after": "42 Pa", "seconds": "60"} | {field: value}
    assert words in client.post(f"/batches/{batch.pk}/proof/rise/", sent).content.decode()
    assert PressureRise.objects.count() == 0


def test_noted_pressures_reach_the_engine_on_the_clock_of_drying_and_are_told(client: Client) -> None:
    batch = with_valve(dried())
    Happening.objects.create(batch=batch, kind="door", at=NOON + timedelta(hours=2), minutes=60.0)
    at = NOON + timedelta(hours=14)
    row = PressureRise.objects.create(batch=batch, at=at, seconds=60.0, before_pa=20.0, after_pa=22.0)
    assert "with the trap valve closed, pressure hardly rose in 60 s, 20 to 22 Pa" in page_of(client, batch)
    PressureRise.objects.create(batch=batch, at=at, seconds=90.0, before_pa=20.0, after_pa=60.0, corrects=row)
    asked = question_of(batch, tray_loads(batch))
    assert asked is not None
    (rise,) = asked.evidence.rises
    assert (rise.duration, rise.before, rise.after) == (90.0, 20.0, 60.0)
    # by the clock: 20 h since the vacuum was on, less an hour with the door open and the time to pump down again
    assert rise.time == pytest.approx(19 * 3600.0 - asked.load.rig.dryer.pump_down)


def test_pressures_from_before_drying_began_are_counted_as_unheard(client: Client) -> None:
    batch = with_valve(dried())
    PressureRise.objects.create(batch=batch, at=NOON - timedelta(hours=9), seconds=60.0, before_pa=20.0, after_pa=22.0)
    page_of(client, batch)
    assert judging.DRYNESS.kept(batch.pk).result.unheard == 1


@pytest.mark.parametrize("page", ["proof", "curves"])
def test_a_load_that_cannot_be_is_told_without_the_names_of_a_file(client: Client, page: str) -> None:
    batch = a_batch(stage="proof", started_at=NOON - timedelta(hours=5), ended_at=NOON)
    on_tray(an_item(batch), 1, 400.0)
    html = client.get(f"/batches/{batch.pk}/{page}/", headers={"HX-Request": "true"}).content.decode()
    assert "this tray holds about" in html
    assert "tray[" not in html
    assert ".mass" not in html
