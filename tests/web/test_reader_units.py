"""Pages and PDFs keep to the reader's units, true minus signs, the singular of one and the words of `docs/words.md`."""

import io
import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from django.test import Client, override_settings
from pypdf import PdfReader

from drystow.web.demo.fill import fill
from drystow.web.kit.models import Kitchen
from tests.web.reader_units import in_other_units, in_other_ways, miswritten, without_product_names, words_of
from tests.web.workshop_words import workshop_words
from tests.words_banned import banned_on_a_page

NOW = datetime(2026, 6, 14, 10, 30, tzinfo=UTC)
STARTS = (
    "/", "/batches/", "/batches/new/", "/pantry/", "/pantry/add/", "/pantry/count/", "/foods/", "/foods/?q=carrot",
    "/foods/recipes/", "/foods/own/moisture/", "/plans/", "/plans/new/", "/plans/seasons/", "/dryers/",
    "/costs/?year=all", "/settings/", "/history/", "/bin/", "/data/",
)  # fmt: skip
ALIKE = {"en": 2, "es": 1}
"""Pages of one kind that are looked at in a language."""


def kind_of(address: str) -> str:
    return re.sub(r"(?<=/)[A-Z0-9-]{4,}(?=/)|\d+", "#", re.sub(r"=[^&]*", "", address))


def links_of(page: str) -> list[str]:
    found = re.findall(r'href="(/[^"#]*)', page)
    return [one.replace("&amp;", "&") for one in found if not one.startswith(("/static/", "/media/"))]


NO_WORDS = re.compile(r"\.(?:csv|ics|json|toml|xlsx|zip)\b")
"""Files for programs, which this crawl doesn't read."""


def crawl(client: Client, alike: int) -> Iterator[tuple[str, list[str]]]:
    """Yield the address and the lines of every page and PDF that links lead to."""
    seen, waiting = Counter[str](), list(STARTS)
    known = set(waiting)
    while waiting:
        address = waiting.pop(0)
        answer = client.get(address)
        kind, links = answer.get("Content-Type", ""), [str(answer.get("Location", ""))]
        if answer.status_code == 200 and "html" in kind:
            page = answer.content.decode()
            links = links_of(page)
            yield address, words_of(page)
        elif answer.status_code == 200 and "pdf" in kind:
            text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
            yield address, text.splitlines()
        for link in links:
            wanted = link.startswith("/") and "units=" not in link and not NO_WORDS.search(link)
            if wanted and link not in known and seen[kind_of(link)] < alike:
                known.add(link)
                seen[kind_of(link)] += 1
                waiting.append(link)


def without_sources(lines: list[str]) -> list[str]:
    """Return the lines of a PDF before its sources, which quote their own units."""
    return next((lines[:at] for at, line in enumerate(lines) if line.strip() in ("Sources", "Fuentes")), lines)


@pytest.fixture
def kitchen() -> Iterator[Client]:
    fill(batches=11, now=NOW)
    with override_settings(DEMO=True):
        yield Client(SERVER_NAME="localhost")


def test_every_page_and_pdf_speaks_in_the_units_of_its_reader(kitchen: Client) -> None:
    pages, papers, found = Counter[str](), {"en": set[str](), "es": set[str]()}, []
    for units, language in (("us", "en"), ("si", "en"), ("us", "es"), ("si", "es")):
        Kitchen.objects.update(units=units, language=language)
        for address, lines in crawl(kitchen, ALIKE[language]):
            pages[units + language] += 1
            papers[language].add(address.split("?")[0].rsplit("/", 1)[-1] if "pdf" in address else "")
            found += [f"workshop {address}: {line[:300]}" for line in workshop_words([*lines, " ".join(lines)])]
            found += [f"word {language} {address}: {one}" for one in banned_on_a_page(" ".join(lines), language)]
            lines = without_sources(lines)
            lines = without_product_names(lines)
            found += [f"{units} {language} {address}: {line[:300]}" for line in in_other_units(lines, units)]
            found += [f"{units} {language} {address}: {line[:300]}" for line in in_other_ways(lines, units, language)]
            found += [f"miswritten {language} {address}: {line[:300]}" for line in miswritten(lines)]
    assert not found, "\n".join(dict.fromkeys(found))
    assert min(pages.values()) > 70
    assert papers["es"] >= papers["en"] - {""}
    assert papers["en"] >= {"sheet.pdf", "list.pdf"}


@pytest.mark.parametrize(
    ("line", "units", "bad"),
    [
        ("the shelf is at 20 °C", "us", True),
        ("keep it at 40 °F (4 °C) or colder", "us", False),
        ("keep it at 4 °C (40 °F) or colder", "us", True),
        ("keep it at 4 °C (40 °F) or colder", "si", False),
        ("from 10 to 21 °C", "us", True),
        ("In 8 of 10 simulated runs it takes 15 h", "si", False),
        ("9 in 10", "si", False),
        ("0.35 in thick", "si", True),
        ("Heat gets in with 15 W/m²K", "us", True),
        ("only 5 K above", "us", True),
        ("No. 10 can", "si", False),
        ("Temperature (°C)", "us", True),
        ("Temperature (°C)", "si", False),
        ("-10 degC for 2 h", "us", True),
    ],
)
def test_a_line_in_the_other_units_is_seen(line: str, units: str, bad: bool) -> None:
    assert bool(in_other_units([line], units)) is bad


@pytest.mark.parametrize(
    ("line", "bad"),
    [
        ("1 days ahead", True),
        ("quedan 1 bandejas", True),
        ("1 day", False),
        ("write 1 to 14 days", False),
        ("21 days", False),
        ("2.1 days", False),
        ("0 to 1 days", False),
        ("at -20 °C", True),
        ("at −20 °C", False),
        ("on 2026-09-04", False),
        ("lot B-3, bench-4", False),
    ],
)
def test_a_hyphen_for_a_minus_and_one_in_the_plural_are_seen(line: str, bad: bool) -> None:
    assert bool(miswritten([line])) is bad
