"""The stock on paper."""

from io import BytesIO

import pypdf
from django.test import Client

from tests.web.pantry_rows import package, place
from tests.web.queries import queries


def text_of(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(content)).pages)


def test_the_list_names_every_package_by_place(client: Client) -> None:
    made = package(place("Cellar"), name="Strawberries")
    page = client.get("/pantry/list/").content.decode()
    assert page.index("Cellar") < page.index("Strawberries") < page.index(made.code)
    assert "Nothing in stock" not in page


def test_the_pdf_says_the_same_and_takes_words_as_words(client: Client) -> None:
    made = package(place('#image("x")'), name="*Straw* #let x = 1 $a$", raw_animal=True)
    answer = client.get("/pantry/list.pdf?units=si")
    text = text_of(answer.content)
    assert answer.headers["Content-Type"] == "application/pdf"
    for words in (made.code, "#image", "*Straw* #let x = 1 $a$", "100 g", "RAW"):
        assert words in text


def test_an_empty_pantry_gives_a_readable_pdf(client: Client) -> None:
    assert "Nothing in stock." in text_of(client.get("/pantry/list.pdf").content)


def test_the_list_takes_few_questions(client: Client) -> None:
    cellar = place()
    for _ in range(20):
        package(cellar)
    client.get("/pantry/list/")
    with queries(at_most=5):
        client.get("/pantry/list/")


def test_a_page_over_many_places_takes_as_few_questions(client: Client) -> None:
    for number in reversed(range(12)):
        shelf = place(f"Shelf {number:02}")
        for _ in range(2):
            package(shelf)
    client.get("/pantry/list/")
    with queries(at_most=5):
        page = client.get("/pantry/list/").content.decode()
    assert [page.index(f"Shelf {number:02}") for number in range(12)] == sorted(
        page.index(f"Shelf {number:02}") for number in range(12)
    )
