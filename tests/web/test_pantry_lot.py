"""Recall: where every package of a lot went."""

from django.test import Client

from drystow.web.kit import records
from drystow.web.pantry import actions
from drystow.web.pantry.models import Package
from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def test_a_recall_names_everybody_and_loses_no_gram(client: Client) -> None:
    cellar = place()
    whole, split, gone = (package(cellar, lot="A-7") for _ in range(3))
    package(cellar, lot="B-1", name="Other lot")
    actions.take(split, "used", 0.03, expected=1)
    actions.take(Package.objects.get(pk=split.pk), "given", 0.07, expected=2, to="Neighbour")
    actions.take(gone, "discarded", 0.1, expected=1, note="smelled off")
    records.put_in_bin(whole)
    page = client.get("/pantry/lot/A-7/?units=si").content.decode()
    assert "Other lot" not in page
    assert "<strong>Neighbour</strong>" in page
    assert "smelled off" in page
    assert "in the trash" in page
    words = " ".join(page.split())
    for name, grams in (
        ("Packed", 300),
        ("Still here", 100),
        ("Used", 30),
        ("Given away", 70),
        ("Thrown out", 100),
        ("Corrected by counting", 0),
    ):
        assert f"<dt>{name}</dt><dd>{grams} g</dd>" in words


def test_a_lot_with_a_slash_has_a_page_and_an_unknown_one_has_not(client: Client) -> None:
    package(place(), lot="A/7")
    assert client.get("/pantry/lot/A/7/").status_code == 200
    assert client.get("/pantry/lot/Z/").status_code == 404


def test_a_large_lot_takes_few_questions(client: Client) -> None:
    cellar = place()
    for _ in range(30):
        package(cellar, lot="A-7")
    client.get("/pantry/lot/A-7/")
    with queries(at_most=5):
        client.get("/pantry/lot/A-7/")
