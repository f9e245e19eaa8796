"""What owners, helpers and viewers may do, and how owners manage accounts."""

from collections.abc import Iterator

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from drystow.errors import InputError
from drystow.web.accounts import people
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.pantry.models import Place
from drystow.web.readings.models import Reading
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.page_form import sent_back


@pytest.fixture(autouse=True)
def house_network() -> Iterator[None]:
    with LAN:
        for name, role in (("ana", people.OWNER), ("ben", people.HELPER), ("cleo", people.VIEWER)):
            people.add(name, role, PASSWORD)
        yield


def signed_in(name: str) -> Client:
    client = device()
    assert sign_in(client, name).status_code == 302
    return client


@pytest.mark.parametrize("name", ["ben", "cleo"])
def test_what_a_role_may_not_do_is_refused_in_words(name: str) -> None:
    client = signed_in(name)
    answer = client.post("/accounts/add/", {"name": "eve", "role": "owner", "password": PASSWORD})
    assert answer.status_code == 403
    assert "Your account can’t do this" in answer.content.decode()
    assert people.find("eve") is None
    assert client.get("/accounts/").status_code == 403
    assert 'href="/settings/"' not in client.get("/").content.decode()


def test_an_account_without_a_role_may_do_nothing() -> None:
    people.find("ben").groups.clear()
    assert signed_in("ben").get("/").status_code == 403


def test_a_helper_undoes_and_takes_back_work_but_not_settings() -> None:
    place = records.create(Place(name="Cellar"))
    ours = records.change(records.kitchen(), {"people": 3}, expected=1)
    work, kitchen = records.history(place).first(), records.history(ours).first()
    helper = signed_in("ben")
    assert helper.post(f"/undo/{kitchen.pk}/").status_code == 403
    assert helper.post(f"/undo/{work.pk}/").status_code == 302
    assert helper.post("/bin/restore/", {"kind": "site.kitchen", "number": 1}).status_code == 403
    assert helper.post("/bin/restore/", {"kind": "pantry.place", "number": place.pk}).status_code == 302
    assert Place.objects.kept().count() == 1
    assert signed_in("cleo").post(f"/undo/{work.pk}/").status_code == 403
    assert {change.who for change in records.history(place)} == {"", "ben"}


def test_a_helper_reads_in_the_file_of_a_logger_but_changes_no_dryer_and_no_sensor() -> None:
    dryer = records.create(Dryer(name="Bench", profile="bench-4"))
    helper, viewer = signed_in("ben"), signed_in("cleo")
    address = f"/dryers/{dryer.pk}/readings/file/"
    assert 'type="file"' in helper.get(address).content.decode()
    text = "time;shelf (degC)\n2026-03-01 10:00;20.5\n2026-03-01 10:01;21.5\n"
    check = helper.post(address, {"file": SimpleUploadedFile("log.csv", text.encode())})
    assert check.status_code == 302
    sent = sent_back(helper.get(check["Location"]))
    assert helper.post(f"{check['Location']}read/", sent).status_code == 302
    assert Reading.objects.count() == 2
    page = helper.get(f"/dryers/{dryer.pk}/readings/?span=all").content.decode()
    assert "Import a file" in page
    assert "/dryers/channels/" not in page
    assert helper.post(f"/dryers/{dryer.pk}/edit/", {"name": "Mine", "version": 1}).status_code == 403
    assert viewer.post(address, {"file": SimpleUploadedFile("log.csv", text.encode())}).status_code == 403


def test_an_owner_adds_changes_and_removes_accounts() -> None:
    owner = signed_in("ana")
    html = owner.post(
        "/accounts/add/", {"name": "dana", "role": "viewer", "password": PASSWORD}, follow=True
    ).content.decode()
    assert "dana can sign in now." in html
    pk = people.find("dana").pk
    owner.post(f"/accounts/{pk}/role/", {"role": "helper"})
    assert people.role_of(people.find("dana")) == "helper"
    owner.post(f"/accounts/{pk}/remove/")
    assert people.find("dana") is None


def test_a_refused_account_comes_back_filled_in_without_its_password() -> None:
    html = (
        signed_in("ana")
        .post("/accounts/add/", {"name": "dana", "role": "viewer", "password": "short"})
        .content.decode()
    )
    assert "at least 10" in html
    assert 'value="dana"' in html
    assert 'value="short"' not in html


def test_the_last_owner_stays() -> None:
    for attempt in (lambda: people.remove("ana"), lambda: people.give_role("ana", "viewer")):
        with pytest.raises(InputError, match="'ana' is the only owner; make someone else an owner first"):
            attempt()
    people.give_role("ben", "owner")
    people.remove("ana")
    assert people.has_owner()


def test_a_new_password_signs_out_everywhere_else() -> None:
    tablet, phone = signed_in("cleo"), signed_in("cleo")
    fresh = "rain barrel behind the shed"
    wrong = tablet.post("/password/", {"old": "guess", "password": fresh}).content.decode()
    assert "That is not this account’s password" in wrong
    html = tablet.post("/password/", {"old": PASSWORD, "password": fresh}, follow=True).content.decode()
    assert "Password changed" in html
    assert tablet.get("/").status_code == 200
    assert phone.get("/").status_code == 302
    assert sign_in(device(), "cleo", fresh).status_code == 302


@pytest.mark.parametrize(
    ("name", "role", "password", "field", "words"),
    [
        ("ANA", "viewer", PASSWORD, "name", "already an account named 'ANA'"),
        ("two words", "viewer", PASSWORD, "name", "'two words' can’t be a name"),
        ("", "viewer", PASSWORD, "name", "can’t be a name"),
        ("x" * 81, "viewer", PASSWORD, "name", "at most 80"),
        ("dana", "cook", PASSWORD, "role", "'cook' is not a role; choose owner, helper or viewer"),
        ("dana", "viewer", "password123", "password", "too common"),
        ("dana", "viewer", "8374659201", "password", "entirely numeric"),
        ("danaschneider", "viewer", "danaschneider1", "password", "too similar"),
    ],
)
def test_an_impossible_account_is_refused(name: str, role: str, password: str, field: str, words: str) -> None:
    with pytest.raises(InputError, match=words) as problem:
        people.add(name, role, password)
    assert problem.value.field == field


def test_an_unknown_name_lists_those_near_it() -> None:
    with pytest.raises(InputError, match="no account named 'clea'; did you mean one of these: cleo"):
        people.remove("clea")
