"""Whatever stands where an answer was kept, its pages answer, and it is worked out anew."""

import json
from collections.abc import Callable, Mapping
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
from drystow.web.batches.adapters import predict, prediction_json, tray_loads
from drystow.web.batches.forecasting import FORECAST
from drystow.web.batches.judging import DRYNESS
from drystow.web.batches.models import Batch
from drystow.web.dryers.lessons import LESSONS
from drystow.web.dryers.models import Dryer
from drystow.web.kit import records
from drystow.web.kit.answers import KINDS, KeptAnswer, Kind
from drystow.web.kit.background import BackgroundTask
from drystow.web.kit.models import Answer
from drystow.web.plans import making
from drystow.web.plans.found import BEST_LOAD, BEST_PROGRAM
from drystow.web.plans.making import PLAN
from drystow.web.season.trying import SEASON
from tests.web.batch_rows import CARROTS, a_batch, a_weighing, an_item, on_tray
from tests.web.made_rows import BEANS, CHICKEN, a_lot, a_plan, at, clock, short_search  # noqa: F401
from tests.web.season_rows import a_full_season
from tests.web.test_answers_codec import same
from tests.web.test_dryers_taught import a_run
from tests.web.waiting import clear, waits

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


@dataclass(frozen=True)
class Case:
    """Something that was worked out and stands in a text column, and the pages that read it."""

    table: str
    row: int  # its primary key
    column: str
    task: BackgroundTask
    subject: int
    pages: tuple[str, ...]
    gone: tuple[str, ...] = ()  # addresses that are not there without an answer
    empty: str = ""  # what nothing worked out yet looks like


def _case(kind: Kind[Any], kept: KeptAnswer[Any] | None, pages: tuple[str, ...], gone: tuple[str, ...] = ()) -> Case:
    assert kept is not None
    assert kept.result is not None
    row = Answer.objects.get(kind=kind.name, subject=kept.subject)
    return Case(Answer._meta.db_table, row.pk, "result", kind.task, kept.subject, pages, gone)


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


def dryness(monkeypatch: pytest.MonkeyPatch) -> Case:
    monkeypatch.setattr("drystow.web.batches.judging.MEMBERS", 40)
    batch = _running()
    api = f"/api/v1/batches/{batch.pk}/judgement"
    picture = reverse("batch-picture", args=[batch.pk, 1])
    return _case(DRYNESS, DRYNESS.work_out(batch.pk), (*_of_batch(batch), api), (picture,))


def forecast(monkeypatch: pytest.MonkeyPatch) -> Case:
    batch = _running()
    pages = (
        *_of_batch(batch),
        reverse("dryer", args=[batch.dryer_id]),
        reverse("costs"),
        reverse("batch-labels", args=[batch.pk]),
    )
    return Case(Batch._meta.db_table, batch.pk, "prediction", FORECAST, batch.pk, pages, empty="{}")


def lessons(monkeypatch: pytest.MonkeyPatch) -> Case:
    batches = [a_run(1.2, day) for day in range(2)]
    dryer = Dryer.objects.get().pk
    kept = LESSONS.work_out(dryer)
    new = _running()
    done = [reverse("batch-done", args=[batch.pk]) for batch in batches]
    return _case(LESSONS, kept, (reverse("dryers"), reverse("dryer", args=[dryer]), *done, *_of_batch(new)))


def plan(monkeypatch: pytest.MonkeyPatch) -> Case:
    made = a_plan(begin=timezone.localdate())
    a_lot(made, BEANS, mass_kg=1.5, shape="stick", arrives=timezone.now())
    a_lot(made, CHICKEN, mass_kg=1.2, shape="cube", size_m=0.012, arrives=timezone.now() - timedelta(days=9))
    a_lot(made, CHICKEN, name="Much", mass_kg=90.0, shape="cube", size_m=0.012, arrives=timezone.now())
    pages = (reverse("plans"), reverse("plan", args=[made.pk]), reverse("plan-lots", args=[made.pk]))
    gone = tuple(reverse(name, args=[made.pk]) for name in ("plan-calendar", "plan-pdf"))
    return _case(PLAN, PLAN.work_out(made.pk), pages, gone)


def season(monkeypatch: pytest.MonkeyPatch) -> Case:
    pk = a_full_season().pk
    return _case(SEASON, SEASON.work_out(pk), (reverse("seasons"), reverse("season", args=[pk])))


def _searched(kind: Kind[Any], page: str, asked: Mapping[str, Any]) -> Case:
    batch = a_batch()
    on_tray(an_item(batch, CARROTS, shape="slab", size_m=0.005, mass_kg=0.6), 2, 0.6)
    kind.ask(batch.pk, asked)
    return _case(kind, kind.work_out(batch.pk), (reverse(page, args=[batch.pk]),))


def best_load(monkeypatch: pytest.MonkeyPatch) -> Case:
    return _searched(BEST_LOAD, "best-load", {"time_h": 30.0, "share": 1, "apart": [], "foods": {}})


def best_program(monkeypatch: pytest.MonkeyPatch) -> Case:
    return _searched(BEST_PROGRAM, "best-program", {"confidence": 0.8, "steps": 1, "highest_c": 40.0})


CASES: dict[str, Callable[[pytest.MonkeyPatch], Case]] = {
    "dryness": dryness,
    "forecast": forecast,
    "lessons": lessons,
    "plan": plan,
    "season": season,
    "best load": best_load,
    "best program": best_program,
}
NO_ANSWERS = {"site.change", "site.typed", "once.sent", "readings.fileway", "readings.livesource"}
"""Models beside the records of a person that keep no answer: the history, what was typed or sent, ways of readings."""


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "SECONDS", 0.5)


@pytest.fixture(params=CASES)
def case(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Case:
    found = CASES[request.param](monkeypatch)
    clear()
    return found


def kept_text(case: Case) -> str:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {case.column} FROM {case.table} WHERE id = %s", [case.row])
        return str(cursor.fetchone()[0])


def put(case: Case, text: str) -> None:
    """Write a text where an answer is kept, whatever it is."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        cursor.execute(f"UPDATE {case.table} SET {case.column} = %s WHERE id = %s", [text, case.row])
        cursor.execute("PRAGMA ignore_check_constraints = OFF")


def status(client: Client, page: str) -> int:
    """How a page answers; an address for programs is asked with a token."""
    if not page.startswith("/api/"):
        return client.get(page).status_code
    secret = new_token("screen", "read")[1]
    return client.get(page, headers={"Authorization": f"Bearer {secret}"}).status_code


def test_every_kind_of_answer_is_among_the_cases() -> None:
    assert set(KINDS) <= set(CASES)
    unknown = {
        kind._meta.label_lower
        for kind in apps.get_models()
        if kind.__module__.startswith("drystow.")
        and not issubclass(kind, records.Record)
        and any(isinstance(field, models.JSONField) for field in kind._meta.get_fields())
    }
    assert unknown == NO_ANSWERS, "keep what is worked out as an `Answer`"


def test_what_is_kept_is_shown(case: Case, client: Client) -> None:
    for page in (*case.pages, *case.gone):
        assert status(client, page) == 200, page
    if case.task.name in KINDS:
        kind = KINDS[case.task.name]
        kept = kind.kept(case.subject)
        assert kept is not None
        kind.keep(kept)
        assert same(kind.kept(case.subject), kept)


def test_an_answer_that_cannot_be_read_is_asked_for_anew_and_no_page_breaks(case: Case, client: Client) -> None:
    whole = kept_text(case)
    for fault, broken in FAULTS.items():
        if broken(whole) == case.empty:
            continue
        put(case, broken(whole))
        clear()
        for page in case.pages:
            assert status(client, page) == 200, (fault, page)
        for page in case.gone:
            assert status(client, page) in (200, 404), (fault, page)
        assert case.subject in waits(case.task), fault
    assert case.task.work(case.subject) is not None
    clear()
    for page in case.pages:
        assert status(client, page) == 200, page
    assert case.subject not in waits(case.task) or case.task is DRYNESS.task  # a run goes on


def test_an_answer_of_another_form_is_asked_for_anew(
    case: Case, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    if case.task.name in KINDS:
        Answer.objects.filter(pk=case.row).update(form="of an earlier program")
        for page in case.pages:
            assert status(client, page) == 200, page
        assert case.subject in waits(case.task)


def leaves(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The places in an answer, one of each kind: the first of a list stands for all."""
    inside = value.items() if isinstance(value, dict) else enumerate(value[:1]) if isinstance(value, list) else ()
    return ([path] if path else []) + [place for name, one in inside for place in leaves(one, (*path, name))]


def changed(value: Any, path: tuple[Any, ...], odd: Any) -> Any:
    copy = json.loads(json.dumps(value))
    inside = copy
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = odd
    return copy


def test_a_single_odd_value_deep_inside_breaks_no_page(case: Case, client: Client) -> None:
    value = json.loads(kept_text(case))
    for number, path in enumerate(leaves(value)):
        odd = ([{"odd": 1}], "odd", float("nan"), None)[number % 4]
        put(case, json.dumps(changed(value, path, odd)))
        page = case.pages[number % len(case.pages)] if len(case.pages) > 3 else case.pages[-1]
        assert status(client, page) == 200, (path, odd, page)


@pytest.mark.parametrize("broken", ["", "[]", "null", "[" * 5000, '[{"time_h": "soon"}]'])
def test_wishes_that_nobody_can_read_are_as_if_nobody_had_asked(client: Client, broken: str) -> None:
    batch = a_batch()
    an_item(batch, CARROTS)
    BEST_LOAD.wish(batch.pk, {"time_h": 17.0, "share": 1, "apart": [], "foods": {}})
    assert 'value="17 h"' in client.get(reverse("best-load", args=[batch.pk])).content.decode()
    Answer.objects.update(asked=broken)
    page = client.get(reverse("best-load", args=[batch.pk]))
    assert page.status_code == 200
    assert "17 h" not in page.content.decode()
    assert BEST_LOAD.work_out(batch.pk) is None
