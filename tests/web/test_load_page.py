"""The first page: the demo load, whole and honest."""

import re
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client, override_settings

from drystow.sources import cite
from drystow.web.batches.load_page import load_page
from drystow.web.kit.reader import reading_in
from drystow.web.kit.words import sentence_words
from drystow.web.site.demo import DemoLoad, demo_text
from drystow.web.site.views import load as view

EXAMPLE = Path(__file__).parent.parent.parent / "examples" / "mixed-load.toml"
POUND = 0.45359237  # kg, international pound (definition)


def text_of(html: str) -> str:
    """Return the words of a page on one line."""
    bare = re.sub(r"<[^>]+>", " ", re.sub(r"<svg.*?</svg>", " ", html, flags=re.DOTALL))
    return " ".join(bare.replace("&#x27;", "'").replace("&quot;", '"').replace("&nbsp;", " ").split())


def test_the_demo_is_the_example_of_the_examples_folder() -> None:
    assert demo_text() == EXAMPLE.read_text(encoding="utf-8")


def test_the_page_shows_every_tray_with_its_finish(client: Client, demo: DemoLoad) -> None:
    words = text_of(client.get("/").content.decode())
    page = load_page(demo.load, demo.result, demo.spread, "us")
    assert len(page.trays) == 5
    for tray in page.trays:
        assert f"{tray.name} {tray.facts[0]}" in words
        assert f"Dry after {tray.ready} {tray.range}" in words
        assert all(fact in words for fact in tray.facts)
    assert f"Everything dry after about {page.ready}" in words


def test_the_page_shows_numbers_of_the_machine_notes_and_sources_in_full(client: Client, demo: DemoLoad) -> None:
    words = text_of(client.get("/").content.decode())
    page = load_page(demo.load, demo.result, demo.spread, "us")
    for shown in (page.energy, page.ice, page.ice_capacity, page.mass, page.dry_mass):
        assert shown in words
    with reading_in("us"):
        for tray in demo.result.trays:
            assert all(" ".join(sentence_words(note).split()) in words for note in tray.notes)
    assert all(" ".join(cite(key).text.split()) in words for key in demo.result.sources)
    assert all(row.what in words.replace(" °", " °") for row in page.timeline if "°" not in row.what)


def test_the_page_says_what_nobody_has_published(client: Client, demo: DemoLoad) -> None:
    assert (
        "A mixed load under 0.5 in thick takes about a day in a home dryer (common practice)."
        " These are typical numbers of a made-up dryer. Yours will differ"
    ) in text_of(client.get("/").content.decode())


def test_the_page_shows_its_cautions(client: Client, demo: DemoLoad) -> None:
    words = text_of(client.get("/").content.decode())
    for caution in (
        "Drying does not kill germs.",
        "Cook them before",
        "oil mist",
        "Cold trap.",
        "Follow your local food and safety rules first",
    ):
        assert caution in words


def test_the_unit_switch_converts_and_is_remembered(client: Client, demo: DemoLoad) -> None:
    assert "2.6 lb" in text_of(client.get("/").content.decode())
    metric = client.get("/?units=si")
    assert f"{2.6 * POUND:.2f} kg" in text_of(metric.content.decode())
    assert metric.cookies["units"].value == "si"
    remembered = text_of(client.get("/").content.decode())
    assert "°C" in remembered
    assert "2.6 lb" not in remembered
    assert "2.6 lb" in text_of(client.get("/?units=us").content.decode())


def test_an_unknown_unit_system_shows_the_usual_one(client: Client, demo: DemoLoad) -> None:
    answer = client.get("/?units=furlong")
    assert answer.status_code == 200
    assert "2.6 lb" in text_of(answer.content.decode())
    assert "units" not in answer.cookies


def test_htmx_gets_the_part_and_everyone_else_the_page(client: Client, demo: DemoLoad) -> None:
    part = client.get("/?units=si", headers={"HX-Request": "true"})
    whole = client.get("/?units=si")
    again = client.get("/", headers={"HX-Request": "true", "HX-History-Restore-Request": "true"})
    assert "<html" not in part.content.decode()
    assert '<main id="load"' in part.content.decode()
    assert "<html" in whole.content.decode()
    assert "<html" in again.content.decode()
    assert {"HX-Request", "Cookie"} <= {name.strip() for name in part.headers["Vary"].split(",")}


def test_the_charts_are_drawn_without_javascript_and_stay_small(client: Client, demo: DemoLoad) -> None:
    html = client.get("/").content.decode()
    assert html.count('role="img"') == 12  # six charts, each for wide screens and for phones
    assert "Water left (% of starting water)" in html
    assert len(html.encode()) < 300_000


def test_without_the_demo_the_page_says_what_to_do(client: Client) -> None:
    answer = client.get("/")
    assert answer.status_code == 200
    words = text_of(answer.content.decode())
    assert "drystow serve --demo" in words
    assert "drystow simulate" in words
    assert client.get("/load.toml").status_code == 404
    assert client.get("/sheet.pdf").status_code == 404


@override_settings(DEMO=True)
def test_while_the_numbers_are_on_the_way_the_page_waits_with_words(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(view, "demo_load", lambda: Future())
    answer = client.get("/")
    assert answer.status_code == 200
    html = answer.content.decode()
    assert "Calculating…" in html
    assert "The first start prepares the simulator, about 20 to 30 s" in html
    assert '<noscript><meta http-equiv="refresh" content="3"></noscript>' in html
    assert 'hx-trigger="every 2s"' in html


@override_settings(DEMO=True)
def test_when_the_numbers_fail_the_page_says_so_every_time(monkeypatch: pytest.MonkeyPatch) -> None:
    failed: Future[DemoLoad] = Future()
    failed.set_exception(ValueError("no such food"))
    monkeypatch.setattr(view, "demo_load", lambda: failed)
    client = Client(SERVER_NAME="localhost", raise_request_exception=False)
    for _ in range(2):
        answer = client.get("/", headers={"HX-Request": "true"})
        assert answer.status_code == 500
        assert "Something went wrong" in answer.content.decode()
        assert "every 2s" not in answer.content.decode()


def test_a_load_that_goes_wrong_is_told_first(demo: DemoLoad) -> None:
    trays = (replace(demo.result.trays[0], dry_end=None), *demo.result.trays[1:])
    wet = replace(demo.result, trays=trays, ended_by="trap_full", ended_text="the trap is full")
    page = load_page(demo.load, wet, demo.spread, "us")
    assert page.ended == "The trap is full."
    assert page.trays[0].ready == "not dry"
    assert page.trays[0].range == ""
    warm = replace(demo.result.trays[1], front_temperature_max=demo.result.trays[1].limit + 1)
    hot = replace(demo.result, trays=(trays[0], warm, *trays[2:]))
    page = load_page(demo.load, hot, demo.spread, "us")
    assert warm.name in page.over
    assert page.trays[1].over
