"""Tests of a machine: steps, form, result, course over time, numbers for the dryer."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drystow.machine.profile import machine_of
from drystow.web.dryers.models import Dryer, MachineTest
from drystow.web.kit import records
from drystow.web.kit.models import Change

LEAK = {
    "on": "2026-03-01",
    "resolution": "0.1 Pa",
    "readings": "\n".join(f"{m} {10 + 4 * m} Pa" for m in range(0, 31, 3)),
}


@pytest.fixture
def bench() -> Dryer:
    """A chamber of 30 L, for which the reference leak is 4.0 Pa a minute (leak-reference)."""
    return records.create(Dryer(name="Bench", profile="bench-4", numbers={"chamber_volume": 0.03}))


def leak_test(client: Client, dryer: Dryer, **changes: str) -> MachineTest:
    assert client.post(f"/dryers/{dryer.pk}/tests/leak/", LEAK | changes).status_code == 302
    return MachineTest.objects.order_by("-pk")[0]


def test_a_dryer_without_tests_says_what_each_is_good_for(client: Client, bench: Dryer) -> None:
    assert f"/dryers/{bench.pk}/tests/" in client.get(f"/dryers/{bench.pk}/").content.decode()
    page = client.get(f"/dryers/{bench.pk}/tests/").content.decode()
    assert page.count("Not done yet") == 4
    assert page.count("Steps and form") == 4


@pytest.mark.parametrize("kind", ["leak", "pump", "ice", "power"])
def test_each_form_shows_cautions_and_steps(client: Client, bench: Dryer, kind: str) -> None:
    page = client.get(f"/dryers/{bench.pk}/tests/{kind}/").content.decode()
    assert 'class="caution"' in page
    assert page.count("<li>") >= 4
    assert 'class="list sheet"' in page  # to write on, on paper
    assert client.get(f"/dryers/{bench.pk}/tests/magic/").status_code == 404


def test_a_leak_test_gives_the_handbook_leak(client: Client, bench: Dryer) -> None:
    row = leak_test(client, bench)
    assert row.values["leak"][1] == pytest.approx(2e-3, rel=0.03)
    page = client.get(f"/dryers/tests/{row.pk}/").content.decode()
    assert "mTorr·L/s" in page
    assert "Parenteral Society" in page


@pytest.mark.parametrize(("language", "first"), [("en", "75.0"), ("es", "75,0")])
def test_readings_in_the_units_and_language_of_the_kitchen_with_seconds(
    client: Client, bench: Dryer, language: str, first: str
) -> None:
    records.change(records.kitchen(), {"language": language}, expected=1)
    lines = f"0:00 {first}\n2:30;150\n5 225\n10 375\n15 525"  # mTorr, 30 mTorr = 4.0 Pa a minute
    row = leak_test(client, bench, readings=lines)
    assert row.readings["times"][1] == 150.0
    assert row.readings["pressures"][0] == pytest.approx(75.0 * 0.133322, rel=1e-4)
    assert row.values["leak"][1] == pytest.approx(2e-3, rel=0.05)


def test_the_measured_number_is_used_and_can_be_undone(client: Client, bench: Dryer) -> None:
    row = leak_test(client, bench)
    answer = client.post(f"/dryers/tests/{row.pk}/use/", {"version": bench.version})
    assert answer["Location"] == f"/dryers/{bench.pk}/"
    bench.refresh_from_db()
    assert machine_of(bench.profile, bench.numbers).leak == pytest.approx(2e-3, rel=0.03)
    assert bench.numbers["chamber_volume"] == 0.03
    last = Change.objects.filter(kind="dryers.dryer").order_by("-pk")[0]
    client.post(reverse("undo", args=(last.pk,)))
    bench.refresh_from_db()
    assert "leak" not in bench.numbers


def test_a_number_that_somebody_changed_meanwhile_is_not_overwritten(client: Client, bench: Dryer) -> None:
    row = leak_test(client, bench)
    records.change(bench, {"numbers": {"leak": 5e-3}}, expected=1)
    client.post(f"/dryers/tests/{row.pk}/use/", {"version": 1})
    bench.refresh_from_db()
    assert bench.numbers == {"leak": 5e-3}


def test_two_tests_show_their_course_and_one_goes_to_the_bin(client: Client, bench: Dryer) -> None:
    first = leak_test(client, bench)
    leak_test(client, bench, on="2026-04-01")
    page = client.get(f"/dryers/{bench.pk}/tests/").content.decode()
    assert "Mar 1, 2026" in page
    assert "<svg" in page
    client.post(f"/dryers/tests/{first.pk}/bin/")
    assert MachineTest.objects.kept().count() == 1


def test_a_pump_down_uses_the_last_leak(client: Client, bench: Dryer) -> None:
    leak_test(client, bench)
    lines = "\n".join(
        f"{minute} {5 + 101320 * 2.718281828 ** (-minute * 60 * 5 / 3600 / 0.030)} Pa" for minute in range(1, 12)
    )
    client.post(f"/dryers/{bench.pk}/tests/pump/", {"on": "2026-03-02", "readings": lines})
    row = MachineTest.objects.get(kind="pump")
    assert row.values["speed"][1] * 3600 == pytest.approx(5.0, rel=0.03)
    assert "empties the chamber" in client.get(f"/dryers/tests/{row.pk}/").content.decode()


def test_an_ice_test_takes_the_trays_that_were_weighed(client: Client, bench: Dryer) -> None:
    sent = {"on": "2026-03-03", "duration": "4 h", "shelf": "0 °C", "pressure": "60 Pa", "resolution": "1 g",
            "before_1": "1000 g", "after_1": "800 g", "before_3": "1000 g", "after_3": "820 g"}  # fmt: skip
    client.post(f"/dryers/{bench.pk}/tests/ice/", sent)
    row = MachineTest.objects.get(kind="ice")
    assert set(row.values) == {"tray 1", "tray 3", "mean", "expected"}
    client.post(f"/dryers/tests/{row.pk}/use/", {"version": 1})
    bench.refresh_from_db()
    assert set(bench.numbers) == {"chamber_volume", "contact_constant", "contact_gas"}
    machine_of(bench.profile, bench.numbers)


def test_a_power_test_is_kept(client: Client, bench: Dryer) -> None:
    sent = {"on": "2026-03-03", "idle": "10", "cooling": "430", "trap": "-31 °F", "running": "720 W"}
    client.post(f"/dryers/{bench.pk}/tests/power/", sent)
    row = MachineTest.objects.get()
    assert row.verdict == "good"
    assert row.values["pump"][1] == pytest.approx(290.0)


@pytest.mark.parametrize(
    ("kind", "sent", "words"),
    [
        ("leak", LEAK | {"readings": "soon high"}, "Can’t read 'soon high'"),
        ("leak", LEAK | {"readings": "5 10\n1 20"}, "must go up from one reading to the next"),
        ("leak", LEAK | {"readings": "5 10 kg\n6 20"}, "5 10 kg"),
        ("leak", LEAK | {"on": "2999-01-01"}, "in the future"),
        ("pump", {"on": "2026-03-01", "readings": "1 100\n2 200\n3 300\n4 400"}, "does not fall"),
        (
            "power",
            {"on": "2026-03-01", "idle": "50", "cooling": "40", "trap": "-30 °C", "running": "90"},
            "higher than",
        ),
        ("ice", {"on": "2026-03-01", "before_1": "900 g"}, "both weights"),
    ],
)
def test_what_cannot_be_comes_back_filled_in(
    client: Client, bench: Dryer, kind: str, sent: dict[str, str], words: str
) -> None:
    answer = client.post(f"/dryers/{bench.pk}/tests/{kind}/", sent)
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&#x27;", "'")
    assert MachineTest.objects.count() == 0


def test_many_tests_need_no_more_queries(client: Client, bench: Dryer) -> None:
    leak_test(client, bench)
    with CaptureQueriesContext(connection) as few:
        client.get(f"/dryers/{bench.pk}/tests/")
    for month in range(4, 9):
        leak_test(client, bench, on=f"2026-0{month}-01")
    with CaptureQueriesContext(connection) as many:
        client.get(f"/dryers/{bench.pk}/tests/")
    assert len(many) == len(few)
