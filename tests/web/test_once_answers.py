"""What a person is told when a form comes a second time."""

import pytest
from django.test import Client, override_settings

from drystow.web.accounts import people
from drystow.web.kit.models import Change
from drystow.web.once.models import Sent
from drystow.web.pantry.models import Package, Place
from tests.web.lan import PASSWORD
from tests.web.page_forms import PageForm, forms_of
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def form_of(client: Client, page: str, action: str, **written: str) -> PageForm:
    """A form of a page, filled in."""
    html = client.get(page).content.decode()
    form = next(one for one in forms_of(page, html) if one.action == action and set(written) <= set(one.fields))
    form.fields.update({name: [value] for name, value in written.items()})
    return form


def test_looking_at_a_form_writes_nothing(client: Client) -> None:
    made = package(place())
    page = f"/pantry/p/{made.code}/"
    client.get(page)
    with queries(at_most=9):
        keys = [form.fields["once"][0] for form in forms_of(page, client.get(page).content.decode())]
    assert len(set(keys)) == len(keys) > 4
    assert not Sent.objects.exists()


def test_the_second_answer_is_the_first_one_with_its_message_and_undo(client: Client) -> None:
    made = package(place())
    page = f"/pantry/p/{made.code}/"
    form = form_of(client, page, f"{page}use/", mass="20 g")
    lost, seen = client.post(form.action, form.fields), Client(SERVER_NAME="localhost")
    answer = seen.post(form.action, form.fields)
    assert (answer.status_code, answer.headers["Location"]) == (302, lost.headers["Location"])
    change = Change.objects.filter(kind="pantry.package").first()
    assert change is not None
    after = seen.get(page).content.decode()
    assert "The rest stays in this package." in after
    assert f"/undo/{change.pk}/" in after
    assert Package.objects.get().left_mass_kg == pytest.approx(0.08)


def test_going_back_to_a_form_and_changing_it_is_a_write_of_its_own(client: Client) -> None:
    made = package(place())
    form = form_of(client, f"/pantry/p/{made.code}/", f"/pantry/p/{made.code}/use/", mass="20 g")
    client.post(form.action, form.fields)
    answer = client.post(form.action, form.fields | {"mass": ["30 g"], "version": ["2"]})
    assert answer.status_code == 302
    assert Package.objects.get().left_mass_kg == pytest.approx(0.05)


def test_a_form_that_came_back_with_a_problem_is_corrected_and_sent_with_a_new_key(client: Client) -> None:
    made = package(place())
    page = f"/pantry/p/{made.code}/"
    form = form_of(client, page, f"{page}use/", mass="much")
    answer = client.post(form.action, form.fields)
    assert answer.status_code == 422
    back = next(one for one in forms_of(page, answer.content.decode()) if one.fields.get("mass") == ["much"])
    assert back.fields["once"] != form.fields["once"]
    assert client.post(back.action, back.fields | {"mass": ["20 g"]}).status_code == 302
    assert Package.objects.get().left_mass_kg == pytest.approx(0.08)


def test_a_form_without_a_key_is_saved_as_often_as_it_comes(client: Client) -> None:
    values = {"name": "Loft", "warm": "20 °C", "coldest_month": "1", "humidity": "50%"}
    client.post("/pantry/places/", values)
    client.post("/pantry/places/", values | {"name": "Shed"})
    assert Place.objects.count() == 2
    assert not Sent.objects.exists()


def test_a_key_belongs_to_one_person(client: Client) -> None:
    made = package(place())
    for name in ("Ana", "Ben"):
        people.add(name, people.OWNER, PASSWORD)
    with override_settings(LAN=True):
        both = [Client(SERVER_NAME="localhost"), Client(SERVER_NAME="localhost")]
        for who, name in zip(both, ("Ana", "Ben"), strict=True):
            who.login(username=name, password=PASSWORD)
        page = f"/pantry/p/{made.code}/"
        form = form_of(both[0], page, f"{page}use/", mass="20 g")
        assert both[0].post(form.action, form.fields).status_code == 302
        assert both[1].post(form.action, form.fields).status_code == 422  # a write of its own, and too late
        assert client.post(form.action, form.fields).headers["Location"].startswith("/sign-in/")
    assert Sent.objects.count() == 1


def test_nothing_of_what_was_sent_can_be_read_from_what_is_kept(client: Client) -> None:
    made = package(place())
    form = form_of(client, f"/pantry/p/{made.code}/", f"/pantry/p/{made.code}/give/", mass="20 g", to="Rosalind")
    client.post(form.action, form.fields)
    kept = str(Sent.objects.values())
    assert "Rosalind" not in kept
    assert form.fields["once"][0] not in kept
