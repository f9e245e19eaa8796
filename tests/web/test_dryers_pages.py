"""Dryers: their numbers, service log, oil hours, and what runs taught."""

import re
from datetime import date, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from drystow.evidence.machine_tests.leak_test import LEAK_REFERENCE
from drystow.machine.profile import dryer_profile, machine_of, profile_names
from drystow.web.batches.dryer_runs import oil_hours
from drystow.web.batches.models import Batch
from drystow.web.dryers.forms import ServiceForm
from drystow.web.dryers.models import Dryer, Service
from drystow.web.kit import records
from tests.web.page_form import sent_back

PROGRAM = [{"shelf_c": 40.0, "hours": None}]
VALUES = {
    "name": "Bench",
    "profile": "bench-4",
    "oil_hours_limit": "120",
    "notes": "",
    "tray_area": "200 inch^2",
    "trays": "3",
    "pressure_limit": "500 mTorr",
}


@pytest.fixture
def bench() -> Dryer:
    return records.create(Dryer(name="Bench", profile="bench-4", oil_hours_limit=100.0))


def run(dryer: Dryer, lot: str, start: datetime, hours: float, predicted: float | None = None) -> Batch:
    prediction = (
        {} if predicted is None else {"total_h": {"p10": predicted - 2, "p50": predicted, "p90": predicted + 3}}
    )
    return records.create(
        Batch(
            lot=lot,
            title="Peas",
            dryer=dryer,
            program=PROGRAM,
            started_at=start,
            ended_at=start + timedelta(hours=hours),
            prediction=prediction,
        )
    )


def test_a_dryer_begins_with_the_nearest_size(client: Client) -> None:
    assert "No dryer yet" in client.get("/dryers/").content.decode()
    assert "?profile=bench-4" in client.get("/dryers/new/").content.decode()
    form = client.get("/dryers/new/?profile=bench-4&units=si").content.decode()
    assert "Leave blank for 620 W" in form


TAGS = re.compile(r"<script.*?</script>|<[^>]*>", re.DOTALL)


@pytest.mark.parametrize("language", ["en", "es"])
def test_starting_numbers_are_told_by_tray_area_and_ice_and_not_by_their_name(
    language: str, client: Client, bench: Dryer
) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"language": language, "units": "si"}, expected=kitchen.version)
    pages = ("/dryers/", "/dryers/new/", "/dryers/new/?profile=floor-7", f"/dryers/{bench.pk}/edit/", "/dryers/1/")
    told = {page: TAGS.sub(" ", client.get(page).content.decode()) for page in pages}
    for page, text in told.items():
        assert not [name for name in profile_names() if name in text], page
    comma = str.maketrans(".", "," if language == "es" else ".")
    for name in profile_names():
        machine = dryer_profile(name)
        area, ice = machine.trays * machine.tray_area, machine.trap_capacity
        for page in ("/dryers/new/", "/dryers/new/?profile=floor-7", f"/dryers/{bench.pk}/edit/"):
            assert f"{area:.3g} m²".translate(comma) in told[page], page
            assert f"{ice:g} kg".translate(comma) in told[page], page
    assert "0.46 m²".translate(comma) in told["/dryers/"]


def test_own_numbers_replace_those_of_the_size(client: Client) -> None:
    answer = client.post("/dryers/new/", VALUES)
    row = Dryer.objects.get()
    assert answer["Location"] == f"/dryers/{row.pk}/"
    machine = machine_of(row.profile, row.numbers)
    assert machine.trays == 3
    assert abs(machine.tray_area - 200 * 0.0254**2) < 1e-9  # international inch (definition)
    assert abs(machine.pressure_limit - 500 * 0.1333224) < 1e-3  # 1 Torr = 101325/760 Pa (definition)
    assert machine.heater_power == 620.0
    html = client.get(answer["Location"]).content.decode()
    assert "200 in²" in html
    assert "500 mTorr" in html


def test_each_wrong_number_is_told_beside_its_field(client: Client) -> None:
    answer = client.post("/dryers/new/", VALUES | {"tray_area": "200 lb", "pump_speed": "5 kg"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert 'id="id_tray_area_error"' in html
    assert "measures something else" in html
    assert 'id="id_pump_speed_error"' in html
    assert 'value="5 kg"' in html
    assert Dryer.objects.count() == 0


@pytest.mark.parametrize(
    ("language", "typed", "kept"),
    [
        ("en", "200", 200 * 0.0254**2),
        ("en", "19 x 7 in", 19 * 7 * 0.0254**2),
        ("en", "1,200 cm²", 0.12),
        ("es", "0,15 m²", 0.15),
        ("es", "1.200", 1200 * 0.0254**2),
    ],
)
def test_a_number_of_the_dryer_is_kept_in_si_and_shown_as_it_was_typed(
    client: Client, language: str, typed: str, kept: float
) -> None:
    records.change(records.kitchen(), {"language": language}, expected=1)
    made = client.post("/dryers/new/", VALUES | {"tray_area": typed})
    assert made.status_code == 302
    dryer = Dryer.objects.get()
    assert dryer.numbers["tray_area"] == pytest.approx(kept, rel=1e-12)  # international inch (definition)
    assert machine_of("bench-4", dryer.numbers).tray_area == dryer.numbers["tray_area"]
    page = client.get(f"{made['Location']}edit/")
    assert f'value="{typed}' in page.content.decode()
    client.post(f"{made['Location']}edit/", sent_back(page, name="The same"))
    dryer.refresh_from_db()
    assert dryer.numbers["tray_area"] == pytest.approx(kept, rel=1e-12)


def test_changing_keeps_numbers_that_the_form_does_not_show(client: Client, bench: Dryer) -> None:
    records.change(bench, {"numbers": {"freezer_air": 12.0, "trays": 4}}, expected=1)
    client.post(f"/dryers/{bench.pk}/edit/", VALUES | {"version": "2", "trays": ""})
    bench.refresh_from_db()
    assert bench.numbers["freezer_air"] == 12.0
    assert "trays" not in bench.numbers


def test_oil_hours_count_runs_since_the_change(client: Client, bench: Dryer) -> None:
    noon = timezone.make_aware(datetime(2026, 3, 10, 12))
    run(bench, "L1", noon - timedelta(days=5), 30)
    run(bench, "L2", noon, 25)
    assert oil_hours([bench])[bench.pk].hours == 55
    records.create(Service(dryer=bench, kind="oil", on=date(2026, 3, 8)))
    hours = oil_hours([bench])[bench.pk]
    assert (hours.hours, hours.over) == (25, False)
    run(bench, "L3", noon + timedelta(days=3), 80)
    assert "The pump oil is due" in client.get("/dryers/").content.decode()
    client.post(f"/dryers/{bench.pk}/service/", {"kind": "oil", "on": "2026-03-20", "value": "", "notes": ""})
    assert "The pump oil is due" not in client.get(f"/dryers/{bench.pk}/").content.decode()


def test_a_run_that_goes_on_counts_until_now(bench: Dryer) -> None:
    now = timezone.now()
    batch = run(bench, "L1", now - timedelta(hours=7), 1)
    records.change(batch, {"ended_at": None}, expected=1)
    assert abs(oil_hours([bench], now)[bench.pk].hours - 7) < 1e-9


def test_leaks_are_read_and_compared_with_the_reference(client: Client, bench: Dryer) -> None:
    # 1 mbar = 100 Pa and 1 L = 1e-3 m3, so 2e-2 mbar L/s = 2e-3 Pa m3/s (definition)
    result = ServiceForm(row=Service(), units="si").fields["value"]
    assert [result.clean(text) for text in ("0.02", "2e-2 mbar·L/s")] == pytest.approx([2e-3, 2e-3])
    assert pytest.approx(2e-3) == LEAK_REFERENCE
    url = f"/dryers/{bench.pk}/service/"
    client.post(url, {"kind": "leak", "on": "2026-03-20", "value": "0.05 mbar*L/s", "notes": "cold"})
    assert Service.objects.get().value == pytest.approx(5e-3)
    html = client.get(f"/dryers/{bench.pk}/").content.decode()
    assert "37.5 mTorr·L/s" in html
    assert "above the guide value" in html
    assert "Monograph 7" in html
    empty = client.post(url, {"kind": "leak", "on": "2026-03-20", "value": "", "notes": ""})
    assert empty.status_code == 422
    assert "Enter the leak test result" in empty.content.decode()
    assert (
        "has the unknown unit"
        in client.post(url, {"kind": "leak", "on": "2026-03-20", "value": "3 foo", "notes": ""}).content.decode()
    )


def test_an_entry_of_the_log_can_be_taken_back(client: Client, bench: Dryer) -> None:
    client.post(f"/dryers/{bench.pk}/service/", {"kind": "gasket", "on": "2026-03-20", "value": "", "notes": "x"})
    client.post(f"/dryers/service/{Service.objects.get().pk}/bin/")
    assert "Nothing logged yet" in client.get(f"/dryers/{bench.pk}/").content.decode()


def test_runs_are_held_against_their_predictions(client: Client, bench: Dryer) -> None:
    start = timezone.make_aware(datetime(2026, 3, 10, 12))
    run(bench, "L1", start, 22, predicted=20)
    run(bench, "L2", start + timedelta(days=2), 26, predicted=20)
    run(bench, "L3", start + timedelta(days=4), 26)  # nobody predicted it
    html = client.get(f"/dryers/{bench.pk}/").content.decode()
    assert "On average, runs took 20% more time than forecast" in html  # (22/20 + 26/20) / 2
    assert "1.10" in html
    assert "1.30" in html
    assert "L3 Peas" not in html  # its lot alone may stand in a token by chance


def test_more_dryers_need_no_more_queries(client: Client, bench: Dryer) -> None:
    client.get("/dryers/")
    with CaptureQueriesContext(connection) as few:
        client.get("/dryers/")
    for number in range(5):
        other = records.create(Dryer(name=f"Other {number}", profile="bench-4"))
        run(other, f"L{number}", timezone.now() - timedelta(days=3), 20)
    with CaptureQueriesContext(connection) as many:
        client.get("/dryers/")
    assert len(many) == len(few)


def test_a_dryer_goes_to_the_bin_and_says_so(client: Client, bench: Dryer) -> None:
    assert "No dryer yet" in client.post(f"/dryers/{bench.pk}/bin/", follow=True).content.decode()
    assert "This dryer is in the trash" in client.get(f"/dryers/{bench.pk}/").content.decode()
    assert client.get(f"/dryers/{bench.pk}/edit/").status_code == 404
