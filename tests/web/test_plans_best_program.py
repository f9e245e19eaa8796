"""The best program of a batch: wishes, the search beside the requests, and using what it found."""

import html
import re
from dataclasses import replace

import pytest
from django.test import Client
from django.utils import timezone

from drystow.foods import table
from drystow.foods.model import Food
from drystow.planning.program.best_program import ProgramWishes, find_program
from drystow.web.batches.models import Batch
from drystow.web.kit import records
from drystow.web.kit.answers import KeptAnswer
from drystow.web.plans.batch_adapters import program_question
from drystow.web.plans.found import BEST_PROGRAM, FoundProgram, found_program
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray
from tests.web.queries import queries
from tests.web.waiting import clear, waits

WORDS = re.compile(r"<[^>]+>")


def loaded(food: Food = CARROTS) -> Batch:
    batch = a_batch()
    on_tray(an_item(batch, food, shape="slab", size_m=0.005, mass_kg=0.6), 2, 0.6)
    return batch


def text(client: Client, address: str) -> str:
    page = client.get(address).content.decode()
    return " ".join(html.unescape(WORDS.sub(" ", page)).split())


def wish(client: Client, batch: Batch, **more: str) -> object:
    sent = {"confidence": "0.8", "steps": "1", "highest": "40 degC"} | more
    return client.post(f"/batches/{batch.pk}/best-program/", sent)


def search(client: Client, batch: Batch, **more: str) -> KeptAnswer[FoundProgram]:
    assert wish(client, batch, **more).status_code == 302
    row = BEST_PROGRAM.work_out(batch.pk)
    assert row is not None
    clear()
    return row


def use(client: Client, row: KeptAnswer[FoundProgram], **more: str) -> object:
    sent = {"fingerprint": row.fingerprint} | more
    return client.post(f"/batches/{row.subject}/best-program/use/", sent)


def test_the_page_asks_how_sure_how_many_steps_and_how_warm(client: Client) -> None:
    said = text(client, f"/batches/{loaded().pk}/best-program/")
    assert "in 9 of 10 simulated runs" in said
    assert "Most steps" in said
    assert "This dryer’s shelf goes up to" in said


def test_without_food_on_the_trays_it_says_what_to_do(client: Client) -> None:
    batch = a_batch()
    assert "no food on the trays" in text(client, f"/batches/{batch.pk}/best-program/")
    assert "no food on the trays" in wish(client, batch).content.decode()
    assert BEST_PROGRAM.kept(batch.pk) is None


def test_a_search_runs_beside_the_requests_and_tells_how_far_it_is(client: Client) -> None:
    batch = loaded()
    assert wish(client, batch).headers["Location"] == f"/batches/{batch.pk}/best-program/#found"
    assert waits(BEST_PROGRAM.task) == [batch.pk]
    said = text(client, f"/batches/{batch.pk}/best-program/")
    assert "0 runs simulated so far" in said
    assert "Check again" in said  # without JavaScript
    part = client.get(f"/batches/{batch.pk}/best-program/", headers={"HX-Request": "true"}).content.decode()
    assert part.lstrip().startswith('<section id="found" hx-get=')


def test_what_is_found_is_what_the_engine_finds_and_stands_beside_the_own_one(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    question = program_question(batch, row.asked)
    engine = find_program(question.load, ProgramWishes(confidence=0.8, most_steps=1, highest=313.15))
    found = row.result
    assert found.found.time == pytest.approx(engine.found.time, abs=1.0)
    assert found.own.time == pytest.approx(engine.plain.time, abs=1.0)
    assert found.found.kept == round(100 * engine.found.kept) >= 80
    assert len(found.found.program) == 1
    assert found.found.program[0]["shelf_c"] <= 40.0
    page = client.get(f"/batches/{batch.pk}/best-program/").content.decode()
    assert "<svg" in page
    assert "and its limit" in page
    said = text(client, f"/batches/{batch.pk}/best-program/")
    assert f"{found.found.kept} of 100 runs" in said
    assert "Why it can’t go faster" in said
    assert "step 1" in said.lower()


def test_the_picture_keeps_below_the_limit_as_long_as_there_is_ice(client: Client) -> None:
    found = search(client, loaded()).result
    assert len(found.found.line) > 10
    assert found.safe
    assert all(over < 0.0 for _hour, over in found.found.line)
    assert max(hour for hour, _over in found.found.line) * 3600 < found.found.time


def test_using_it_writes_the_program_and_undo_takes_it_back(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    before = batch.program
    assert use(client, row).headers["Location"] == f"/batches/{batch.pk}/program/"
    assert Batch.objects.get().program == row.result.found.program != before
    page = client.get(f"/batches/{batch.pk}/program/").content.decode()
    said = text(client, f"/batches/{batch.pk}/best-program/")
    assert "This is the batch’s program." in said
    assert "has changed since, so this may no longer fit" not in said
    client.post(re.search(r'action="(/undo/\d+/)"', page)[1])
    assert Batch.objects.get().program == before


def test_a_program_changed_meanwhile_is_not_overwritten(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    records.change(batch, {"program": [{"shelf_c": 20.0, "hours": None}]}, expected=batch.version)
    page = use(client, row).content.decode()
    assert "Someone changed the batch" in page
    assert "has changed since, so this may no longer fit" in page
    assert Batch.objects.get().program == [{"shelf_c": 20.0, "hours": None}]


def test_a_search_that_was_asked_anew_meanwhile_is_not_used(client: Client) -> None:
    row = search(client, loaded())
    assert "Someone changed the batch" in use(client, row, fingerprint="another").content.decode()


def test_when_none_is_safe_a_cooler_one_that_is_better_is_offered_with_its_warning(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    found = replace(row.result.found, kept=62)
    found = replace(row.result, safe=False, usable=True, notes=("no program keeps all limits",), found=found)
    BEST_PROGRAM.keep(replace(row, result=found))
    said = text(client, f"/batches/{batch.pk}/best-program/")
    assert "No program is safe enough" in said
    assert "It keeps every limit in 62 of 100 runs; you asked for 80." in said
    assert "Use it anyway" in said
    assert "Use this program" not in said


def test_what_passes_a_limit_by_more_than_the_own_program_cannot_be_used(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    found = replace(row.result, safe=False, usable=False, notes=("worst Carrots, raw (tray 2)",))
    BEST_PROGRAM.keep(replace(row, result=found))
    said = text(client, f"/batches/{batch.pk}/best-program/")
    assert "No program is safe enough; keep yours as it is" in said
    assert "orst Carrots, raw (tray 2)" in said
    assert "Use it anyway" not in said
    assert "Use this program" not in said
    before = batch.program
    assert "is not used" in use(client, row).content.decode()
    assert Batch.objects.get().program == before


def test_the_program_of_a_begun_run_stays(client: Client) -> None:
    batch = loaded()
    row = search(client, batch)
    records.change(batch, {"started_at": timezone.now(), "stage": "running"}, expected=batch.version)
    assert "stays as it is" in use(client, row).content.decode()
    assert BEST_PROGRAM.work_out(batch.pk) is None
    assert "Use this program" not in text(client, f"/batches/{batch.pk}/best-program/")


def test_a_sentence_of_the_engine_names_the_tray_and_not_the_number_of_the_food(client: Client) -> None:
    """The only food lies on tray 2, and its front is what holds the program back."""
    batch = loaded(table.get("Applesauce, unsweetened"))
    row = search(client, batch, highest="", steps="2", confidence="0.99")
    question = program_question(batch, row.asked)
    found = find_program(question.load, ProgramWishes(confidence=0.99, most_steps=2))
    shown = found_program(question, found)
    told = [str(words) for words in (*shown.stops, *shown.notes)]
    assert any("(tray 2)" in words for words in told)
    assert not any("(tray 1)" in words for words in told)


def test_a_way_leads_to_it_from_the_program(client: Client) -> None:
    batch = loaded()
    assert f'href="/batches/{batch.pk}/best-program/"' in client.get(f"/batches/{batch.pk}/program/").content.decode()


def test_few_questions_to_the_database(client: Client) -> None:
    batch = loaded()
    search(client, batch)
    with queries(at_most=10):
        client.get(f"/batches/{batch.pk}/best-program/")
