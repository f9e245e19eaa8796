"""Whatever stands where an answer was kept, its pages answer, and it is worked out anew."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, models
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drystow.web.accounts.tokens import new_token
from drystow.web.batches import forecasting, judging, teaching
from drystow.web.batches.adapters import predict, prediction_json, tray_loads
from drystow.web.batches.models import Batch, Judgement
from drystow.web.dryers.models import Dryer, Learned
from drystow.web.kit import records
from drystow.web.kit.answers import Answer, fits
from drystow.web.kit.background import Queue
from drystow.web.plans import making, searching
from drystow.web.plans.models import Made, Search, Tried
from drystow.web.season import trying
from tests.web.batch_rows import CARROTS, a_batch, a_weighing, an_item, on_tray
from tests.web.made_rows import BEANS, CHICKEN, a_lot, a_plan, at, clock, short_search  # noqa: F401
from tests.web.season_rows import a_full_season
from tests.web.test_dryers_taught import a_run

FAULTS = {
    "cut short": lambda text: text[: len(text) // 2],
    "nothing at all": lambda text: "",
    "an empty object": lambda text: "{}",
    "an empty list": lambda text: "[]",
    "null": lambda text: "null",
    "a number": lambda text: "3",
    "a text": lambda text: '"here"',
    "true": lambda text: "true",
    "a list of numbers": lambda text: "[1, 2]",
    "something foreign": lambda text: '{"version": 7, "trays": {"1": "dry"}, "found": [1], "state": null}',
    "not a number": lambda text: '{"trays": NaN, "total_h": NaN, "problems": NaN, "form": NaN}',
    "deep": lambda text: "[" * 5000 + "]" * 5000,
}
EMPTY_IS_RIGHT = {
    ("batches.batch", "prediction"): {"an empty object"},
    ("dryers.learned", "state"): {"an empty object"},
    ("dryers.learned", "factor"): {"an empty list"},
    ("dryers.learned", "steps"): {"an empty list"},
}
"""What nothing worked out yet looks like."""


@dataclass(frozen=True)
class Case:
    """An answer that was worked out, and the pages that read it."""

    row: Answer
    queue: Queue
    work: Callable[[int], object]
    pages: tuple[str, ...]
    gone: tuple[str, ...] = ()  # addresses that are not there without an answer


def _running() -> Batch:
    batch = a_batch(freezer="household freezer")
    item = an_item(batch, CARROTS, mass_kg=1.0, shape="slab", size_m=0.009, frozen=True, start_c=-25.0)
    on_tray(item, 1, 1.0)
    loads = tray_loads(batch)
    kept = prediction_json(loads, *predict(batch, loads))
    began = timezone.now() - timedelta(hours=5)
    changes = {"started_at": began, "drying_began_at": began, "stage": "running", "prediction": kept}
    batch = records.change(batch, changes, expected=batch.version)
    a_weighing(batch, 0, 700.0, at=timezone.now() - timedelta(hours=1))
    return batch


def _of_batch(batch: Batch) -> tuple[str, ...]:
    names = ("batch-trays", "batch-running", "batch-curves", "batch-proof", "batch-packing")
    return (reverse("batches"), *(reverse(name, args=[batch.pk]) for name in names))


def judgement(monkeypatch: pytest.MonkeyPatch) -> Case:
    monkeypatch.setattr(judging, "MEMBERS", 40)
    batch = _running()
    row = judging.work_out(batch.pk)
    assert row is not None
    api = f"/api/v1/batches/{batch.pk}/judgement"
    picture = reverse("batch-picture", args=[batch.pk, 1])
    return Case(row, judging.QUEUE, judging.work_out, (*_of_batch(batch), api), (picture,))


def forecast(monkeypatch: pytest.MonkeyPatch) -> Case:
    batch = _running()
    pages = (
        *_of_batch(batch),
        reverse("dryer", args=[batch.dryer_id]),
        reverse("costs"),
        reverse("batch-labels", args=[batch.pk]),
    )
    return Case(batch, forecasting.QUEUE, forecasting.work_out, pages)


def learned(monkeypatch: pytest.MonkeyPatch) -> Case:
    batches = [a_run(1.2, day) for day in range(2)]
    row = teaching.work_out(Dryer.objects.get().pk)
    assert row is not None
    new = _running()
    done = [reverse("batch-done", args=[batch.pk]) for batch in batches]
    pages = (reverse("dryers"), reverse("dryer", args=[row.pk]), *done, *_of_batch(new))
    return Case(row, teaching.QUEUE, teaching.work_out, pages)


def plan(monkeypatch: pytest.MonkeyPatch) -> Case:
    made = a_plan(begin=timezone.localdate())
    a_lot(made, BEANS, mass_kg=1.5, shape="stick", arrives=timezone.now())
    a_lot(made, CHICKEN, mass_kg=1.2, shape="cube", size_m=0.012, arrives=timezone.now() - timedelta(days=9))
    a_lot(made, CHICKEN, name="Much", mass_kg=90.0, shape="cube", size_m=0.012, arrives=timezone.now())
    row = making.work_out(made.pk)
    assert row is not None
    pages = (reverse("plans"), reverse("plan", args=[made.pk]), reverse("plan-lots", args=[made.pk]))
    gone = tuple(reverse(name, args=[made.pk]) for name in ("plan-calendar", "plan-pdf"))
    return Case(row, making.QUEUE, making.work_out, pages, gone)


def season(monkeypatch: pytest.MonkeyPatch) -> Case:
    row = trying.work_out(a_full_season().pk)
    assert row is not None
    pages = (reverse("seasons"), reverse("season", args=[row.pk]))
    return Case(row, trying.QUEUE, trying.work_out, pages)


def _searched(kind: str, asked: Mapping[str, Any]) -> Case:
    batch = a_batch()
    on_tray(an_item(batch, CARROTS, shape="slab", size_m=0.005, mass_kg=0.6), 2, 0.6)
    row = searching.work_out(searching.ask(batch, kind, asked).pk)
    assert row is not None
    assert "problems" not in row.result
    return Case(row, searching.QUEUE, searching.work_out, (reverse(f"best-{kind}", args=[batch.pk]),))


def best_load(monkeypatch: pytest.MonkeyPatch) -> Case:
    return _searched("load", {"time_h": 30.0, "share": 1, "apart": [], "foods": {}})


def best_program(monkeypatch: pytest.MonkeyPatch) -> Case:
    return _searched("program", {"confidence": 0.8, "steps": 1, "highest_c": 40.0})


CASES: dict[str, tuple[type[Answer], Callable[[pytest.MonkeyPatch], Case]]] = {
    "judgement": (Judgement, judgement),
    "forecast": (Batch, forecast),
    "learned": (Learned, learned),
    "plan": (Made, plan),
    "season": (Tried, season),
    "best load": (Search, best_load),
    "best program": (Search, best_program),
}
NO_ANSWERS = {"site.change", "site.typed", "once.sent", "readings.fileway", "readings.livesource"}
"""Models beside the records of a person that keep no answer: the history, what was typed or sent, ways of readings."""


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "SECONDS", 0.5)


@pytest.fixture(params=CASES)
def case(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Case:
    found = CASES[request.param][1](monkeypatch)
    found.queue.waiting.clear()
    return found


def put(row: models.Model, field: str, text: str) -> None:
    """Write a text where an answer is kept, whatever it is."""
    column, table = row._meta.get_field(field).column, row._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        cursor.execute(f"UPDATE {table} SET {column} = %s WHERE {row._meta.pk.column} = %s", [text, row.pk])
        cursor.execute("PRAGMA ignore_check_constraints = OFF")


def status(client: Client, page: str) -> int:
    """How a page answers; an address for programs is asked with a token."""
    if not page.startswith("/api/"):
        return client.get(page).status_code
    secret = new_token("screen", "read")[1]
    return client.get(page, headers={"Authorization": f"Bearer {secret}"}).status_code


def kept_fields(row: Answer) -> dict[str, Any]:
    return {name: json.loads(json.dumps(getattr(row, name))) for name in row.shapes()}


def test_every_model_that_keeps_an_answer_is_among_the_cases() -> None:
    found = {kind for kind in apps.get_models() if issubclass(kind, Answer)}
    assert found == {kind for kind, _case in CASES.values()}
    unknown = {
        kind._meta.label_lower
        for kind in apps.get_models()
        if kind.__module__.startswith("drystow.")
        and not issubclass(kind, (Answer, records.Record))
        and any(isinstance(field, models.JSONField) for field in kind._meta.get_fields())
    }
    assert unknown == NO_ANSWERS, "keep what is worked out in a subclass of Answer"


def test_what_is_kept_has_its_shape_and_is_shown(case: Case, client: Client) -> None:
    row = type(case.row).objects.get(pk=case.row.pk)
    assert not row.unreadable
    assert kept_fields(row) == kept_fields(case.row)
    for page in (*case.pages, *case.gone):
        assert status(client, page) == 200, page


def test_an_answer_that_cannot_be_read_is_asked_for_anew_and_no_page_breaks(case: Case, client: Client) -> None:
    row, kind = case.row, type(case.row)
    for field, value in kept_fields(row).items():
        whole = json.dumps(value)
        for fault, broken in FAULTS.items():
            if fault in EMPTY_IS_RIGHT.get((row._meta.label_lower, field), ()):
                continue
            put(row, field, broken(whole))
            case.queue.waiting.clear()
            for page in case.pages:
                assert status(client, page) == 200, (field, fault, page)
            for page in case.gone:
                assert status(client, page) in (200, 404), (field, fault, page)
            assert row.pk in case.queue.waiting or field == "asked", (field, fault)
            assert kind.objects.get(pk=row.pk).unreadable, (field, fault)
        put(row, field, whole)


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The places in an answer, one of each kind: the first of a list stands for all."""
    if path:
        yield path
    if isinstance(value, dict):
        for name, one in value.items():
            yield from leaves(one, (*path, name))
    elif isinstance(value, list):
        for number, one in enumerate(value[:1]):
            yield from leaves(one, (*path, number))


def changed(value: Any, path: tuple[Any, ...], odd: Any) -> Any:
    copy = json.loads(json.dumps(value))
    inside = copy
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = odd
    return copy


def test_a_single_odd_value_deep_inside_breaks_no_page(case: Case, client: Client) -> None:
    row = case.row
    for field, value in kept_fields(row).items():
        for number, path in enumerate(leaves(value)):
            odd = ([{"odd": 1}], "odd", float("nan"), None)[number % 4]
            put(row, field, json.dumps(changed(value, path, odd)))
            page = case.pages[number % len(case.pages)] if len(case.pages) > 3 else case.pages[-1]
            assert status(client, page) == 200, (field, path, odd, page)
        put(row, field, json.dumps(value))


def test_what_is_worked_out_anew_is_the_answer_again(case: Case, client: Client) -> None:
    row = case.row
    field = next(name for name in row.shapes() if name != "asked")
    put(row, field, json.dumps(kept_fields(row)[field])[:-1])
    assert status(client, case.pages[1 % len(case.pages)]) == 200
    assert case.work(row.pk) is not None
    again = type(row).objects.get(pk=row.pk)
    assert not again.unreadable
    assert all(fits(getattr(again, name), shape) for name, shape in again.shapes().items())
    assert kept_fields(again).keys() == kept_fields(row).keys()
    assert bool(getattr(again, field)) == bool(getattr(row, field))
