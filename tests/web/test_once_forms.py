"""Every form of every page carries a key, and counts once when it is sent twice."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client, override_settings

from drystow.web.demo.fill import fill
from drystow.web.once.models import Sent
from drystow.web.site.demo import demo_text
from tests.web.page_forms import PageForm, every_form

WRITTEN = {
    # field -> what a person writes where nothing stands yet
    "name": "Blue box", "title": "Saturday", "mass": "20 g", "to": "Neighbors", "note": "Spilled", "warm": "18 °C",
    "temperature": "17 °C", "value": "3", "gross": "650 g", "tare": "500 g", "text": "Door sticks", "minutes": "5",
    "protein": "3 g", "fat": "1 g", "carbohydrate": "12 g", "energy": "70 kcal", "like": "Strawberries, raw",
    "moisture": "85%", "moisture_from": "oven", "found": "50 g", "quantity": "2 lb", "price": "4",
    "password": "Tall oak 77 leaves",
}  # fmt: skip
NOT_SENT = ("/data/restore/", "/sign-out/")
"""Reading a backup in takes a file of megabytes; signing out is the same once or ten times."""
TOKENS = "/data/tokens/"
"""Its answer holds a secret, which is shown once."""
FEWEST = 60
"""Forms that write something as they stand; one of a record that nobody touched writes nothing."""


@pytest.fixture(scope="module")
def forms(database: None) -> Iterator[list[PageForm]]:
    """All forms of a filled kitchen, whose rows stay until the tests of this file are done."""
    with transaction.atomic(), override_settings(DEMO=True):
        fill(10)
        yield list(every_form(Client(SERVER_NAME="localhost")))
        transaction.set_rollback(True)


def rows() -> dict[str, int]:
    """How many rows there are of each kind."""
    models = [model for model in apps.get_models() if model is not Sent]
    return {model._meta.label: model._default_manager.count() for model in models}


def sent(client: Client, form: PageForm, fields: dict[str, list[str]]) -> Any:
    """The answer to a form."""
    written = {name: values if any(values) else [WRITTEN.get(name, "")] for name, values in fields.items()}
    files = {name: SimpleUploadedFile("load.toml", demo_text().encode()) for name in form.files}
    return client.post(form.action, written | files)


def test_every_form_has_a_key_that_no_other_has(forms: list[PageForm]) -> None:
    keys = [form.fields.get("once", [""]) for form in forms]
    assert [form for form, key in zip(forms, keys, strict=True) if len(key) != 1 or len(key[0]) < 16] == []
    for form, key in zip(forms, keys, strict=True):  # two buttons of one form share its key, but not its address
        alike = [other for other, its in zip(forms, keys, strict=True) if its == key]
        assert len({(other.page, other.action) for other in alike}) == len(alike), form
        assert len({other.page for other in alike}) == 1, form
    stages = {form.page.strip("/").split("/")[-1] for form in forms if form.page.startswith("/batches/")}
    assert {"basket", "trays", "program", "running", "proof", "packing", "labels", "done"} <= stages


def test_every_form_sent_twice_leaves_as_many_rows_as_once(forms: list[PageForm], client: Client) -> None:
    wrong, wrote = [], 0
    for form in forms:
        if form.action.startswith(NOT_SENT):
            continue
        for fields in form.pressed():
            with transaction.atomic():
                before = rows()
                first = sent(client, form, fields)
                once = rows()
                second = sent(client, form, fields)
                told = [(answer.status_code, answer.headers.get("Location")) for answer in (first, second)]
                alike = told[0] == told[1] or first.status_code >= 400
                if form.action == TOKENS and first.status_code == 200:
                    alike = second.status_code == 409 and b"dry_" in first.content and b"dry_" not in second.content
                if rows() != once or not alike:
                    wrong.append((form.page, form.action, fields, told))
                wrote += once != before
                transaction.set_rollback(True)
    assert wrong == []
    assert wrote >= FEWEST, wrote
