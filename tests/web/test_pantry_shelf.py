"""The shelf: search, filters, what to use first, totals."""

import re
from datetime import timedelta

import pytest
from django.test import Client

from drystow.web.kit import records
from drystow.web.pantry import stock
from tests.web.pantry_rows import package, place, today
from tests.web.queries import queries


def test_an_empty_pantry_says_what_to_do_next(client: Client) -> None:
    page = client.get("/pantry/").content.decode()
    assert "Nothing on the shelf yet" in page
    assert 'href="/pantry/add/"' in page


def test_the_search_finds_name_lot_place_and_a_code_opens_its_package(client: Client) -> None:
    cellar, attic = place("Cellar"), place("Attic")
    berries = package(cellar, name="Strawberries", lot="A-1")
    package(attic, name="Beef stew", lot="B-2")
    for words, found, other in (
        ("straw", "Strawberries", "Beef stew"),
        ("b-2", "Beef stew", "Strawberries"),
        ("attic stew", "Beef stew", "Strawberries"),
    ):
        table = client.get("/pantry/", {"q": words}).content.decode().split("All packages")[1]
        assert found in table
        assert other not in table
    assert client.get("/pantry/", {"q": berries.code}).headers["Location"] == f"/pantry/p/{berries.code}/"


def test_what_expires_first_stands_first_and_used_up_is_hidden(client: Client) -> None:
    cellar = place()
    package(cellar, name="Later", best_before=today() + timedelta(days=60))
    package(cellar, name="Sooner", best_before=today() + timedelta(days=5))
    package(cellar, name="Eaten", state="used", left_mass_kg=0.0, best_before=today())
    package(cellar, name="Long", best_before=today() + timedelta(days=900))
    soon = client.get("/pantry/").content.decode().split("All packages")[0]
    assert soon.index("Sooner") < soon.index("Later")
    assert "Eaten" not in soon
    assert "Long" not in soon
    gone = client.get("/pantry/", {"state": "gone"}).content.decode().split("All packages")[1]
    assert "Eaten" in gone
    assert "Sooner" not in gone


def test_days_of_food_are_energy_over_people_and_days(client: Client) -> None:
    """4 people × 2000 kcal = 8000 kcal a day; 20000 kcal are 2.5 days, with half left 1.25 (arithmetic by hand)."""
    kitchen = records.kitchen()
    records.change(kitchen, {"people": 4, "energy_kcal_day": 2000.0, "protein_g_day": 50.0}, expected=kitchen.version)
    made = package(place(), energy_kcal=20000.0, protein_g=400.0)
    page = client.get("/pantry/").content.decode()
    assert "2.5</span>" in page
    assert "2.0</span>" in page
    records.change(made, {"left_mass_kg": 0.05, "state": "open"}, expected=made.version)
    assert "1.3</span>" in client.get("/pantry/").content.decode()


def test_sorting_by_place_shows_each_place_once(client: Client) -> None:
    cellar, attic = place("Cellar"), place("Attic")
    for where in (cellar, attic, cellar):
        package(where, best_before=None)
    table = client.get("/pantry/", {"by": "place"}).content.decode()
    assert table.count('scope="rowgroup">Cellar') == 1
    assert table.count('scope="rowgroup">Attic') == 1


def test_many_packages_come_in_pages_with_few_questions(client: Client) -> None:
    cellar = place()
    for number in range(60):
        package(cellar, name=f"Jar {number:02}")
    page = client.get("/pantry/", {"q": "jar", "by": "food"}).content.decode()
    assert "Jar 49" in page
    assert "Jar 50</a></td>" not in page
    assert "?q=jar&amp;state=stock&amp;by=food&amp;page=2" in page
    with queries(at_most=8):
        client.get("/pantry/")


def test_pages_by_place_go_through_every_package_once_in_order(client: Client) -> None:
    places = [place(name) for name in ("Cellar", "Attic", "Barn")]
    for number in range(130):
        package(places[number % 3], name=f"Jar {number:03}", best_before=today() + timedelta(days=400 - number))
    names = []
    records.kitchen()
    for number in (1, 2, 3):
        with queries(at_most=9):
            page = client.get("/pantry/", {"by": "place", "page": number}).content.decode().split("All packages")[1]
        names += re.findall(r"Jar (\d{3})</a></td>", page)
    attic, barn, cellar = ([n for n in range(129, -1, -1) if n % 3 == rest] for rest in (1, 2, 0))
    assert [int(name) for name in names] == [*attic, *barn, *cellar]


def test_parts_of_words_and_letters_with_accents_are_found(client: Client) -> None:
    cellar = place("Keller Süd")
    package(cellar, name="Crème brûlée", lot="A-77")
    package(cellar, name="Élan de pois", lot="B-78")
    for words, found in (
        ("brûl", "Crème"),
        ("CRÈME", "Crème"),
        ("élan", "Élan"),
        ("ÉLAN pois", "Élan"),
        ("süd pois", "Élan"),
        ("a-7 SÜD", "Crème"),
        ("creme brulee", "Crème"),
        ("elan sud", "Élan"),
    ):
        table = client.get("/pantry/", {"q": words}).content.decode().split("All packages")[1]
        assert found in table, words
        assert ("Élan" if found == "Crème" else "Crème") not in table, words


def test_a_word_that_many_lots_have_is_found_in_each(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stock, "MANY_LOTS", 2)
    cellar = place()
    for number in range(4):
        package(cellar, lot=f"2026-{number}")
    package(cellar, lot="OTHER", name="Peas")
    table = client.get("/pantry/", {"q": "2026"}).content.decode().split("All packages")[1]
    assert all(f"2026-{number}" in table for number in range(4))
    assert "Peas" not in table


def test_names_are_found_once_each_in_order() -> None:
    assert stock.distinct("name") == []
    cellar = place()
    for name in ("Peas", "Leeks", "Peas"):
        package(cellar, name=name)
    assert stock.distinct("name") == ["Leeks", "Peas"]
