"""Two people write to one package at the same moment: the books balance, and nobody is told of what did not happen.

On the server of `DATABASE_URL` when there is one, else on a real SQLite file; each writer has a connection of its own.
"""

import json
from collections.abc import Callable, Iterator
from datetime import timedelta
from itertools import product
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from drystow.errors import InputError
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.models import Weighing
from drystow.web.kit import records
from drystow.web.kit.models import Change
from drystow.web.pantry import actions, books
from drystow.web.pantry.models import Movement, Package, Place
from tests.web.batch_rows import a_batch, an_item, on_tray
from tests.web.pantry_rows import package, place
from tests.web.two_at_once import at_once, real_database

REFUSED = (records.Conflict, records.Gone, InputError)
SIGNS = {"packed": 1, "used": -1, "given": -1, "discarded": -1, "counted": 1}


@pytest.fixture(scope="module", autouse=True)
def real(database: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """A place in a database whose rows all connections see."""
    with real_database(tmp_path_factory.mktemp("at-once")):
        records.kitchen()
        yield place("Cellar")


@pytest.fixture(autouse=True)
def clean_rows() -> None:
    """The rows are committed; every test has a package of its own."""


def _take(kind: str, mass_kg: float) -> Callable[[Package, str], Any]:
    return lambda seen, who: actions.take(seen, kind, mass_kg, expected=seen.version, who=who)


def _undo(seen: Package, who: str) -> Any:
    last = Change.objects.get(kind="pantry.package", object_id=seen.pk, version=2)
    return records.undo(last, who=who)


WRITES: dict[str, tuple[Callable[[Package, str], Any], str, float | None]] = {
    # what: (write, kind of its movement, its mass [kg])
    "use": (_take("used", 0.02), "used", 0.02),
    "give": (_take("given", 0.03), "given", 0.03),
    "discard": (_take("discarded", 0.01), "discarded", 0.01),
    "use all": (_take("used", 0.09), "used", 0.09),
    "open": (lambda seen, who: actions.open_package(seen, expected=seen.version, who=who), "opened", None),
    "move": (
        lambda seen, who: actions.move(seen, Place.objects.get(name="Attic"), expected=seen.version, who=who),
        "moved",
        None,
    ),
    "count": (lambda seen, who: actions.count(seen, 0.065, expected=seen.version, who=who), "counted", None),
    "undo": (_undo, "counted", None),
    "bin": (lambda seen, who: records.put_in_bin(seen, who=who), "", None),
    "restore": (lambda seen, who: records.take_back(seen, who=who), "", None),
    "correct": (lambda seen, who: records.change(seen, {"cost": 2.5}, expected=seen.version, who=who), "", None),
}


def _of(name: str, number: int, who: str) -> Callable[[Callable[[], Any]], Any]:
    def write(meet: Callable[[], Any]) -> Any:
        seen = Package.objects.get(pk=number)
        meet()
        return WRITES[name][0](seen, who)

    return write


@pytest.mark.parametrize(("first", "second"), [*product(WRITES, WRITES)])
def test_any_two_writes_at_once_leave_books_that_balance(real: Place, first: str, second: str) -> None:
    if not Place.objects.filter(name="Attic").exists():
        place("Attic")
    made = actions.take(package(real), "used", 0.01, expected=1, who="Ana")
    if "open" in (first, second):
        made = records.change(made, {"state": "stored"}, expected=2, who="Ana")
    if "restore" in (first, second):
        made = records.put_in_bin(made, who="Ana")
    told = at_once(_of(first, made.pk, "first"), _of(second, made.pk, "second"))
    strange = [one for one in told if isinstance(one, Exception) and not isinstance(one, REFUSED)]
    assert not strange
    assert not all(isinstance(one, REFUSED) for one in told), told
    now = Package.objects.get(pk=made.pk)
    for name, who, answer in ((first, "first", told[0]), (second, "second", told[1])):
        _, kind, mass_kg = WRITES[name]
        moves = list(Movement.objects.filter(package=now, who=who))
        changes = list(Change.objects.filter(kind="pantry.package", object_id=now.pk, who=who))
        if isinstance(answer, REFUSED):
            assert (moves, changes) == ([], [])
        elif name in ("bin", "restore"):
            assert changes or (now.binned_at is not None) == (name == "bin") or first != second
        elif name == "correct":
            assert now.cost == 2.5
        elif first == second == "count" and not moves:  # the other one's count had put it right
            assert now.left_mass_kg == 0.065
        else:
            assert [move.kind for move in moves] == [kind]
            assert [change.action for change in changes] == ["change"]
            assert mass_kg is None or moves[0].mass_kg == pytest.approx(mass_kg)
    signed = [SIGNS.get(move.kind, 0) * (move.mass_kg or 0.0) for move in now.movements.all()]
    assert now.left_mass_kg == pytest.approx(sum(signed), abs=books.ROUNDING_KG)
    assert (now.left_mass_kg == 0.0) == (now.state in books.CLOSED)
    assert now.pk not in {wrong.package.pk for wrong in books.wrong_sums()}


def test_twenty_double_taps_each_take_once(real: Place) -> None:
    for _ in range(20):
        made = package(real)

        def tap(meet: Callable[[], Any], code: str = made.code) -> int:
            client = Client(SERVER_NAME="localhost")
            meet()
            return client.post(f"/pantry/p/{code}/use/", {"version": 1, "mass": "20 g"}).status_code

        assert sorted(at_once(tap, tap)) == [302, 422]
        assert Package.objects.get(pk=made.pk).left_mass_kg == pytest.approx(0.08)
        assert made.movements.filter(kind="used").count() == 1


def test_eight_programs_take_what_is_there_and_not_a_gram_more(real: Place) -> None:
    made, secret = package(real), new_token("kitchen scale", "write")[1]

    def ask(meet: Callable[[], Any]) -> int:
        client, header = Client(SERVER_NAME="localhost"), {"Authorization": f"Bearer {secret}"}
        meet()
        path = f"/api/v1/packages/{made.code}/use"
        return client.post(path, json.dumps({"mass_kg": 0.02}), "application/json", headers=header).status_code

    assert sorted(at_once(*[ask] * 8)) == [200] * 5 + [422] * 3
    assert (Package.objects.get(pk=made.pk).left_mass_kg, books.left_in(made)) == pytest.approx((0.0, 0.0))


def test_one_weighing_is_corrected_once(real: Place) -> None:
    batch = a_batch(stage="running", started_at=timezone.now() - timedelta(hours=6))
    on_tray(an_item(batch), 1, 0.8)
    sent = {"tray": "1", "gross": "640 g", "tare": "500 g", "resolution": "1 g"}
    for _ in range(5):
        wrong = Weighing.objects.create(batch=batch, tray=1, at=timezone.now(), gross_g=650.0, tare_g=500.0)

        def correct(meet: Callable[[], Any], number: int = wrong.pk) -> int:
            client = Client(SERVER_NAME="localhost", raise_request_exception=False)
            meet()
            return client.post(f"/batches/{batch.pk}/running/weighing/", sent | {"corrects": number}).status_code

        assert sorted(at_once(correct, correct)) == [200, 302]  # the page with the reason, and the saved one
        assert Weighing.objects.filter(corrects=wrong).count() == 1


def test_a_food_that_two_pack_at_once_is_packed_once(real: Place) -> None:
    batch = a_batch(stage="packing")
    item = an_item(batch)
    sent = {"item": item.pk, "dry": "240 g", "moisture": "3%", "container": "jar-quart", "version": 1}
    sent |= {"place": real.pk, "packed_on": timezone.localdate().isoformat(), "confirmed": "on", "before": 0}

    def pack(meet: Callable[[], Any]) -> int:
        client = Client(SERVER_NAME="localhost")
        client.get(f"/batches/{batch.pk}/packing/")
        meet()
        return client.post(f"/batches/{batch.pk}/packing/pack/", sent).status_code

    assert sorted(at_once(pack, pack)) == [302, 422]
    assert sum(one.net_mass_kg for one in Package.objects.filter(batch=batch)) == pytest.approx(0.24)


def test_a_transaction_of_sqlite_is_the_only_writer_from_its_first_moment(real: Place) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL locks rows")
    made = package(real)
    with CaptureQueriesContext(connection) as asked:
        actions.take(made, "used", 0.01, expected=1)
    assert asked.captured_queries[0]["sql"] == "BEGIN IMMEDIATE"
