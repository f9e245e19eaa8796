"""The interface for programs: tokens, scopes, errors, and every address of it."""

import copy
import json
import re
import tomllib
from contextlib import nullcontext
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from drystow.machine.loadfile import parse_load
from drystow.machine.run import simulate
from drystow.reports.plain_data import load_json
from drystow.web.accounts import people, tokens
from drystow.web.accounts.models import ApiToken
from drystow.web.accounts.tokens import new_token
from drystow.web.batches import judging
from drystow.web.batches.models import Batch, Weighing
from drystow.web.kit import records
from drystow.web.pantry import actions
from drystow.web.pantry.models import Package, Place, PlaceReading
from drystow.web.site.demo import demo_text
from tests.web.batch_rows import a_batch, a_weighing, an_item, on_tray
from tests.web.crawl import routes
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.waiting import waits

LOAD = tomllib.loads(demo_text())


class Program:
    """A program with a token."""

    def __init__(self, client: Client, secret: str) -> None:
        self.client, self.secret = client, secret

    def get(self, path: str) -> Any:
        return self.client.get(f"/api/v1/{path}", headers={"Authorization": f"Bearer {self.secret}"})

    def post(self, path: str, data: object) -> Any:
        header = {"Authorization": f"Bearer {self.secret}"}
        body = data if isinstance(data, str) else json.dumps(data)
        return self.client.post(f"/api/v1/{path}", body, content_type="application/json", headers=header)


@pytest.fixture
def writer() -> Program:
    return Program(Client(SERVER_NAME="localhost", enforce_csrf_checks=True), new_token("thermometer", "write")[1])


@pytest.fixture
def reader() -> Program:
    return Program(Client(SERVER_NAME="localhost"), new_token("screen", "read")[1])


@pytest.fixture
def package() -> Package:
    cellar = records.create(Place(name="Cellar"))
    row = Package(code="ABC234", lot="L1", food="f05469", name="Strawberries", place=cellar, container="jar-quart")
    row.net_mass_kg = row.left_mass_kg = 0.1
    row.packed_on = "2026-06-01"  # type: ignore[assignment]
    records.create(row)
    actions.packed(row)
    return row


def test_without_a_valid_token_nothing_is_told(client: Client) -> None:
    for answer in (client.get("/api/v1/batches"), Program(client, "dry_wrong").get("batches")):
        assert answer.status_code == 401
        assert "a valid token is needed" in answer.json()["message"]
    revoked, secret = new_token("old", "write")
    revoked.revoked = revoked.created
    revoked.save()
    assert Program(client, secret).get("batches").status_code == 401


def test_only_the_hash_of_a_token_is_kept(reader: Program) -> None:
    kept = ApiToken.objects.get()
    assert reader.secret not in str(kept.__dict__)
    assert re.fullmatch("[0-9a-f]{64}", kept.hash)
    assert reader.get("places").status_code == 200
    assert waits(tokens.SEEN) == [kept.pk]  # noted beside the request
    tokens.note_seen(kept.pk)
    assert ApiToken.objects.get().last_used is not None


def test_a_token_for_reading_cannot_write(reader: Program, package: Package) -> None:
    answer = reader.post("packages/ABC234/use", {"mass_kg": 0.02})
    assert answer.status_code == 403
    assert "may only read" in answer.json()["message"]
    assert Package.objects.get().left_mass_kg == 0.1


def test_too_many_requests_have_to_wait(reader: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tokens, "MOST_REQUESTS", 3)
    codes = [reader.get("places").status_code for _ in range(4)]
    assert codes == [200, 200, 200, 429]
    assert 0 < int(reader.get("places").headers["Retry-After"]) <= 60


def test_a_prediction_is_the_one_of_the_command_line(reader: Program) -> None:
    answer = reader.post("predict", LOAD)
    assert answer.status_code == 200
    assert answer.json() == json.loads(json.dumps(load_json(simulate(parse_load(LOAD), series=False))))
    assert set(reader.post("predict?members=4", LOAD).json()["total_h"]) == {"p10", "p50", "p90"}


def test_a_wrong_load_names_every_field(writer: Program) -> None:
    wrong = {"dryer": {"profile": "kitchen-5"}, "program": {"shelf": ["hot"]}, "tray": [{"food": "Strawberries, raw"}]}
    for path in ("predict", "batches"):
        answer = writer.post(path, wrong)
        assert answer.status_code == 422
        assert {"program.shelf[1]", "tray[1].mass"} <= {row["field"] for row in answer.json()["problems"]}
    assert not Batch.objects.exists()


WEIGHING = {"tray": 2, "at": "2026-06-02T08:00:00Z", "gross_g": 901.0, "tare_g": 640.0}


def at_stage(pk: int, stage: str) -> None:
    """Bring a batch to a stage, as the pages do."""
    started = None if stage == "program" else datetime(2026, 6, 1, 8, tzinfo=UTC)
    batch = Batch.objects.get(pk=pk)
    records.change(batch, {"stage": stage, "started_at": started}, expected=batch.version)


def test_a_batch_is_made_listed_and_weighed(writer: Program) -> None:
    made = writer.post("batches", LOAD)
    assert made.status_code == 201
    pk = made.json()["id"]
    assert len(made.json()["trays"]) == 5
    assert writer.get("batches?stage=program").json()["results"][0]["id"] == pk
    assert writer.get(f"batches/{pk}").json()["lot"] == made.json()["lot"]
    assert records.history(Batch.objects.get()).first().who == "program: thermometer"
    at_stage(pk, "running")
    weighing = {"tray": 2, "at": "2026-06-02T08:00:00+02:00", "gross_g": 901.0, "tare_g": 640.0}
    added = writer.post(f"batches/{pk}/weighings", weighing)
    assert (added.status_code, added.json()["net_g"]) == (201, 261.0)
    assert len(writer.get(f"batches/{pk}/weighings").json()["results"]) == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"tray": 9}, "tray"),
        ({"gross_g": 500.0}, "gross_g"),
        ({"gross_g": "much"}, "gross_g"),
        ({"at": "2026-06-02T08:00:00"}, "at"),
    ],
)
def test_a_weighing_that_cannot_be_is_refused(writer: Program, change: dict[str, object], field: str) -> None:
    pk = writer.post("batches", LOAD).json()["id"]
    at_stage(pk, "running")
    weighing = WEIGHING | change
    answer = writer.post(f"batches/{pk}/weighings", weighing)
    assert answer.status_code == 422
    assert [row["field"] for row in answer.json()["problems"]] == [field]


WILD = [
    "9" * 400,
    "9" * 5000,
    "-1e999",
    "NaN",
    "Infinity",
    '"1 kg**9**9**9"',
    '"\\ud800 kg"',
    '"' + "9" * 5000 + ' kg"',
]


@pytest.mark.parametrize("number", WILD, ids=["400", "5000", "1e999", "nan", "inf", "tower", "surrogate", "long"])
@pytest.mark.parametrize("address", ["predict", "batches", "weighings", "readings"])
def test_a_wild_number_gets_one_short_answer(writer: Program, address: str, number: str) -> None:
    pk = writer.post("batches", LOAD).json()["id"]
    at_stage(pk, "running")
    load = copy.deepcopy(LOAD)
    load["tray"][0]["mass"] = "wild"
    reading = {"quantity": "shelf", "at": "2026-03-01T07:00:00+01:00", "value": "wild"}
    path, data = {
        "predict": ("predict", load),
        "batches": ("batches", load),
        "weighings": (f"batches/{pk}/weighings", WEIGHING | {"gross_g": "wild"}),
        "readings": ("dryers/1/readings", {"source": "logger", "readings": [reading]}),
    }[address]
    answer = writer.post(path, json.dumps(data).replace('"wild"', number))
    assert answer.status_code in (400, 404, 422)
    assert len(answer.content) < 3000
    assert Batch.objects.count() == 1


@pytest.mark.parametrize(
    ("stage", "code", "why"),
    [
        ("program", 422, "has not been started"),
        ("running", 201, ""),
        ("proof", 201, ""),
        ("packing", 422, "not in the dryer any more"),
        ("done", 422, "not in the dryer any more"),
    ],
)
def test_a_batch_is_weighed_only_while_its_trays_are_in_the_dryer(
    writer: Program, stage: str, code: int, why: str
) -> None:
    pk = writer.post("batches", LOAD).json()["id"]
    at_stage(pk, stage)
    answer = writer.post(f"batches/{pk}/weighings", WEIGHING)
    assert answer.status_code == code
    assert Weighing.objects.count() == (code == 201)
    if code == 422:
        (problem,) = answer.json()["problems"]
        assert problem["field"] == "stage"
        assert f"is at the stage '{stage}'" in problem["message"]
        assert why in problem["message"]


def test_packages_are_found_used_and_moved(writer: Program, package: Package) -> None:
    shelf = records.create(Place(name="Shelf"))
    assert writer.get("packages?q=straw").json()["count"] == 1
    used = writer.post("packages/abc234/use", {"mass_kg": 0.04, "note": "soup"})
    assert used.json()["left_mass_kg"] == pytest.approx(0.06)
    assert writer.post("packages/ABC234/move", {"place": shelf.pk}).json()["place"]["name"] == "Shelf"
    assert [row["kind"] for row in writer.get("packages/ABC234").json()["movements"]] == ["packed", "used", "moved"]
    late = writer.post("packages/ABC234/use", {"mass_kg": 0.01, "version": 1})
    assert late.status_code == 409
    much = writer.post("packages/ABC234/use", {"mass_kg": 5})
    assert (much.status_code, much.json()["problems"][0]["field"]) == (422, "mass")


def test_temperatures_are_added_all_or_none(writer: Program, package: Package) -> None:
    path = f"places/{package.place_id}/readings"
    good = {"at": "2026-06-02T08:00:00Z", "temperature_c": 12.5}
    assert writer.post(path, {"readings": [good, good | {"temperature_c": 900}]}).status_code == 422
    assert writer.post(path, {"readings": [good]}).json()["added"] == 1
    assert PlaceReading.objects.get().temperature_c == 12.5


def test_foods_are_found(reader: Program) -> None:
    found = reader.get("foods?q=strawberries+raw&limit=3").json()["foods"]
    assert found[0]["name"] == "Strawberries, raw"
    one = reader.get(f"foods/{found[0]['id']}").json()
    assert one["composition"]["water"] == pytest.approx(0.91, abs=0.02)  # FoodData Central prints 90.95 g per 100 g


@pytest.mark.parametrize("path", ["batches/99", "packages/NOPE", "foods/f99999", "batches/99/weighings"])
def test_what_is_not_there_is_told_as_json(reader: Program, path: str) -> None:
    answer = reader.get(path)
    assert answer.status_code == 404
    assert answer.json()["message"].startswith("there is no such record")


API_ROUTES = sorted(route for route in routes() if route.startswith("api/") and route != "api/v1/")


@pytest.mark.parametrize("route", API_ROUTES)
def test_no_address_of_the_interface_tells_anything_to_who_is_not_known(client: Client, route: str) -> None:
    """Neither with a token that is none, nor with one that was revoked, nor without; with accounts and without."""
    address = "/" + re.sub("<[^>]*>", "1", route)
    revoked, secret = new_token("old", "read")
    ApiToken.objects.filter(pk=revoked.pk).update(revoked=revoked.created)
    for token in ("dry_guess", "", secret):
        for bearer in (f"Bearer {token}", f"bearer {token}", token):
            for asked in (client, device()):
                with LAN if asked is not client else nullcontext():
                    answer = asked.get(address, headers={"Authorization": bearer})
                    if answer.status_code == 405:  # only takes what is sent
                        answer = asked.post(address, "{}", "application/json", headers={"Authorization": bearer})
                assert answer.status_code in (401, 302), (bearer, answer.status_code)
                assert "paths" not in answer.content.decode()
    with LAN:
        assert device().get(address).status_code == 302


def test_the_description_is_for_programs_with_a_token_and_people_who_are_signed_in(reader: Program) -> None:
    with LAN:
        people.add("cleo", people.VIEWER, PASSWORD)
        tablet = device()
        sign_in(tablet, "cleo")
        assert "paths" in tablet.get("/api/v1/openapi.json").json()
        program = Client(SERVER_NAME="kitchen")
        assert "paths" in Program(program, reader.secret).get("openapi.json").json()
        people.find("cleo").groups.clear()
        assert tablet.get("/api/v1/openapi.json").status_code == 403
    assert "paths" in reader.get("openapi.json").json()


def test_the_description_needs_no_other_site(client: Client) -> None:
    description = client.get("/api/v1/openapi.json").json()
    assert description["openapi"].startswith("3.")
    assert "/api/v1/predict" in description["paths"]
    assert client.get("/api/v1/docs").status_code == 404


def test_a_token_is_shown_once_and_can_be_revoked(client: Client) -> None:
    page = client.post("/data/tokens/", {"name": "script", "scope": "read"}).content.decode()
    secret = re.search(r"dry_[\w-]{40,}", page)
    assert secret is not None
    assert Program(client, secret[0]).get("places").status_code == 200
    assert secret[0] not in client.get("/data/tokens/").content.decode()
    client.post(f"/data/tokens/{ApiToken.objects.get().pk}/revoke/")
    assert Program(client, secret[0]).get("places").status_code == 401
    assert client.post("/data/tokens/", {"name": "", "scope": "read"}).status_code == 422


def test_how_dry_a_batch_is_comes_as_it_was_worked_out(reader: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judging, "MEMBERS", 40)
    ended = datetime(2026, 3, 1, 22, tzinfo=UTC)
    batch = a_batch(stage="proof", started_at=ended - timedelta(hours=30), ended_at=ended)
    on_tray(an_item(batch), 1, 0.8)
    a_weighing(batch, 14, 140)
    first = reader.get(f"batches/{batch.pk}/judgement").json()
    assert (first["current"], first["working_percent"], first["judgement"]) == (False, 0, None)
    judging.DRYNESS.work_out(batch.pk)
    known = reader.get(f"batches/{batch.pk}/judgement").json()
    assert (known["current"], known["working_percent"]) == (True, None)
    (tray,) = known["judgement"]["trays"]
    assert tray["tray"] == 1
    assert 0.0 <= tray["probability_dry"] <= 1.0
    assert tray["residual_moisture"] == sorted(tray["residual_moisture"])
    assert reader.get("batches/99/judgement").status_code == 404
