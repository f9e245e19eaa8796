"""A program that sends a write twice with one key: every write of the interface counts once."""

import json
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.utils import timezone

from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.tokens import new_token
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.once import answers
from drystow.web.once.models import Sent
from drystow.web.pantry.models import Package
from drystow.web.site.demo import demo_text
from tests.web.batch_rows import a_batch, an_item, on_tray
from tests.web.pantry_rows import package, place

LOAD = tomllib.loads(demo_text())
Ready = tuple[str, dict[str, Any], dict[str, Any]]
"""Address, content, and another content."""


def _use() -> Ready:
    return f"/packages/{package(place()).code}/use", {"mass_kg": 0.02}, {"mass_kg": 0.03}


def _move() -> Ready:
    made, attic, shed = package(place()), place("Attic"), place("Shed")
    return f"/packages/{made.code}/move", {"place": attic.pk}, {"place": shed.pk}


def _temperatures() -> Ready:
    one = {"at": "2026-06-02T08:00:00Z", "temperature_c": 12.5}
    return f"/places/{place().pk}/readings", {"readings": [one]}, {"readings": [one | {"temperature_c": 13.0}]}


def _weighing() -> Ready:
    batch = a_batch(stage="running", started_at=datetime(2026, 6, 1, 8, tzinfo=UTC))
    on_tray(an_item(batch), 1, 0.8)
    one = {"tray": 1, "at": "2026-06-02T08:00:00Z", "gross_g": 901.0, "tare_g": 640.0}
    return f"/batches/{batch.pk}/weighings", one, one | {"gross_g": 902.0}


def _readings() -> Ready:
    dryer = records.create(Dryer(name="Bench", profile="bench-4"))
    at = (timezone.now() - timedelta(hours=1)).isoformat()
    one = {"source": "logger", "readings": [{"quantity": "shelf", "at": at, "value": 30.0}]}
    return f"/dryers/{dryer.pk}/readings", one, one | {"source": "another"}


WRITES: dict[tuple[str, str], Callable[[], Ready]] = {
    ("post", "/api/v1/predict"): lambda: ("/predict", LOAD, LOAD | {"title": "Another"}),
    ("post", "/api/v1/batches"): lambda: ("/batches", LOAD, LOAD | {"title": "Another"}),
    ("post", "/api/v1/batches/{pk}/weighings"): _weighing,
    ("post", "/api/v1/packages/{code}/use"): _use,
    ("post", "/api/v1/packages/{code}/move"): _move,
    ("post", "/api/v1/places/{pk}/readings"): _temperatures,
    ("post", "/api/v1/dryers/{pk}/readings"): _readings,
}


class Program:
    """A program with a token."""

    def __init__(self, name: str = "scale") -> None:
        self.client, self.secret = Client(SERVER_NAME="localhost"), new_token(name, "write")[1]

    def send(self, path: str, content: object, key: str = "", method: str = "post") -> Any:
        headers = {"Authorization": f"Bearer {self.secret}"} | ({"Idempotency-Key": key} if key else {})
        return self.client.generic(
            method.upper(), f"/api/v1{path}", json.dumps(content), "application/json", headers=headers
        )


def rows() -> dict[str, int]:
    """How many rows there are of each kind."""
    models = [model for model in apps.get_models() if model is not Sent]
    return {model._meta.label: model._default_manager.count() for model in models}


def described(client: Client) -> dict[tuple[str, str], Any]:
    """Every write that the description names."""
    paths = client.get("/api/v1/openapi.json").json()["paths"]
    return {
        (method, path): operation
        for path, operations in paths.items()
        for method, operation in operations.items()
        if method != "get"
    }


def test_the_description_names_the_key_for_every_write_and_none_is_left_out_here(client: Client) -> None:
    found = described(client)
    assert set(found) == set(WRITES)
    for operation in found.values():
        keys = [one for one in operation["parameters"] if (one["name"], one["in"]) == ("Idempotency-Key", "header")]
        assert len(keys) == 1
        assert not keys[0]["required"]


@pytest.mark.parametrize("write", WRITES, ids=[path for _, path in WRITES])
def test_every_write_sent_twice_with_one_key_counts_once(write: tuple[str, str]) -> None:
    (path, content, other), program = WRITES[write](), Program()
    first = program.send(path, content, '"8e03978e-40d5-43dd-bc93-6894a57f9324"', write[0])
    assert first.status_code in (200, 201), first.content
    once = rows()
    again = program.send(path, content, "8e03978e-40d5-43dd-bc93-6894a57f9324", write[0])
    assert (again.status_code, again.json()) == (first.status_code, first.json())
    assert again.headers["Content-Type"] == first.headers["Content-Type"]
    changed = program.send(path, other, '"8e03978e-40d5-43dd-bc93-6894a57f9324"', write[0])
    assert changed.status_code == 422
    assert [row["field"] for row in changed.json()["problems"]] == ["Idempotency-Key"]
    assert "used before with another request; send a new key" in changed.json()["message"]
    assert rows() == once
    assert program.send(path, other, '"another"', write[0]).status_code == first.status_code


def test_without_a_key_every_use_counts() -> None:
    (path, content, _), program = _use(), Program()
    assert [program.send(path, content).status_code for _ in range(2)] == [200, 200]
    assert Package.objects.get().left_mass_kg == pytest.approx(0.06)


def test_a_key_belongs_to_one_program_and_one_address() -> None:
    (path, content, _), one, two = _use(), Program(), Program("other scale")
    assert [program.send(path, content, "key").status_code for program in (one, two)] == [200, 200]
    assert Package.objects.get().left_mass_kg == pytest.approx(0.06)
    elsewhere, batch, _ = _weighing()
    assert one.send(elsewhere, batch, "key").status_code == 201


def test_a_refused_write_may_be_sent_again_with_its_key() -> None:
    (path, content, _), program = _use(), Program()
    assert program.send(path, {"mass_kg": 5}, "key").status_code == 422
    assert not Sent.objects.exists()
    assert program.send(path, content, "key").status_code == 200


def test_a_revoked_token_gets_no_old_answer() -> None:
    (path, content, _), program = _use(), Program()
    assert program.send(path, content, "key").status_code == 200
    ApiToken.objects.update(revoked=timezone.now())
    assert program.send(path, content, "key").status_code == 401


@pytest.mark.parametrize("key", ['""', "x" * 256, "sa\xf1"])
def test_what_is_no_key_is_told(key: str) -> None:
    (path, content, _), program = _use(), Program()
    answer = program.send(path, content, key)
    assert answer.status_code == 422
    assert "is not a key; send 1 to 255 printable ASCII characters" in answer.json()["message"]
    assert Package.objects.get().left_mass_kg == 0.1


def test_a_day_later_a_key_is_forgotten() -> None:
    (path, content, _), program = _use(), Program()
    program.send(path, content, "old")
    Sent.objects.update(at=timezone.now() - answers.KEPT_FOR - timedelta(seconds=1))
    program.send(path, content, "new")
    assert Sent.objects.count() == 1
    assert Package.objects.get().left_mass_kg == pytest.approx(0.06)


def test_a_write_that_the_program_did_not_live_to_answer_is_told_of() -> None:
    (path, content, _), program = _use(), Program()
    program.send(path, content, "key")
    Sent.objects.update(status=None, at=timezone.now() - answers.LOST_AFTER - timedelta(seconds=1))
    answer = program.send(path, content, "key")
    assert answer.status_code == 409
    assert "check whether it was saved" in answer.json()["message"]
    assert Package.objects.get().left_mass_kg == pytest.approx(0.08)
