"""One write that comes twice at the same moment: it counts once, and both get the answer."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client

from drystow.web.accounts.tokens import new_token
from drystow.web.kit import records
from drystow.web.once.models import Sent
from drystow.web.pantry.models import Movement, Package, Place
from tests.web.page_forms import forms_of
from tests.web.pantry_rows import package, place
from tests.web.two_at_once import at_once, real_database

PATH = "/pantry/add/?food=unknown"


@pytest.fixture(scope="module", autouse=True)
def real(database: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """A place in a database whose rows all connections see."""
    with real_database(tmp_path_factory.mktemp("once")):
        records.kitchen()
        yield place("Cellar")


@pytest.fixture(autouse=True)
def clean_rows() -> None:
    """The rows are committed."""


@pytest.mark.parametrize("number", range(10))
def test_a_double_tap_on_a_form_without_a_version_adds_one_package(real: Place, number: int) -> None:
    page = Client(SERVER_NAME="localhost").get(PATH).content.decode()
    form = next(one for one in forms_of(PATH, page) if "net" in one.fields)
    form.fields.update({"name": [f"Jar {number}"], "net": ["100 g"]})

    def tap(meet: Callable[[], Any]) -> tuple[int, str]:
        client = Client(SERVER_NAME="localhost")
        meet()
        answer = client.post(form.action, form.fields)
        return answer.status_code, answer.headers.get("Location", "")

    told = at_once(*[tap] * 3)
    assert len(set(told)) == 1
    made = Package.objects.get(name=f"Jar {number}")
    assert told[0] == (302, f"/pantry/p/{made.code}/")


def test_programs_that_repeat_themselves_at_once_take_once(real: Place) -> None:
    made, secret = package(real), new_token("kitchen scale", "write")[1]

    def ask(meet: Callable[[], Any]) -> tuple[int, float]:
        client = Client(SERVER_NAME="localhost")
        headers = {"Authorization": f"Bearer {secret}", "Idempotency-Key": '"one"'}
        meet()
        path = f"/api/v1/packages/{made.code}/use"
        answer = client.post(path, json.dumps({"mass_kg": 0.02}), "application/json", headers=headers)
        return answer.status_code, answer.json()["left_mass_kg"]

    assert set(at_once(*[ask] * 6)) == {(200, 0.08)}
    assert Movement.objects.filter(package=made, kind="used").count() == 1


def test_every_claim_has_its_answer(real: Place) -> None:
    assert not Sent.objects.filter(status=None).exists()
