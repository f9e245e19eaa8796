"""What helpers and viewers see: every page, without a form or a button that would be refused."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from urllib.parse import urlsplit

import pytest
from django.test import Client

from drystow.web.accounts import people
from drystow.web.accounts.rights import may
from drystow.web.batches.models import Batch
from drystow.web.demo.fill import fill
from drystow.web.kit import records
from drystow.web.pantry.models import Package
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.page_forms import forms_of

FORM = re.compile(r"<form\b[^>]*>", re.S)
NOW = datetime(2026, 6, 14, 10, 30, tzinfo=UTC)
FIRST = ("/", "/batches/", "/pantry/", "/foods/", "/dryers/", "/costs/", "/history/", "/bin/", "/start/", "/password/")
AT_MOST = 5
"""Pages of one kind that are looked at: batches of each stage come on top."""


@pytest.fixture
def kitchen() -> Iterator[None]:
    fill(batches=11, now=NOW)
    records.put_in_bin(Package.objects.kept().filter(state="stored").first())
    with LAN:
        for name, role in (("ben", people.HELPER), ("cleo", people.VIEWER)):
            people.add(name, role, PASSWORD)
        yield


def walk(client: Client) -> dict[str, str]:
    """Follow every link from the first pages, a few of each kind, and return the pages by their addresses."""
    waiting = [*FIRST, *(f"/batches/{one.pk}/{one.stage}/" for one in Batch.objects.all())]
    pages: dict[str, str] = {}
    kinds: dict[str, int] = {}
    while waiting:
        address = waiting.pop(0)
        kind = re.sub(r"\d+|/p/[^/]+|/lot/[^/]+|/t/[^/]+", "#", address.split("?")[0])
        if address in pages or (kinds.get(kind, 0) >= AT_MOST and address not in FIRST):
            continue
        kinds[kind] = kinds.get(kind, 0) + 1
        answer = client.get(address, follow=True)
        assert answer.status_code == 200, address
        if not answer.headers["Content-Type"].startswith("text/html"):
            continue
        there = answer.redirect_chain[-1][0] if answer.redirect_chain else address
        pages[there] = answer.content.decode()
        for link in re.findall(r'href="(/[^"#]*)', pages[there]):
            link = link.replace("&amp;", "&")
            if not link.startswith("/static/") and not re.search(r"\.(pdf|toml|csv|xlsx|zip|ics)\b", link):
                waiting.append(link)
    return pages


def refused(pages: dict[str, str], role: str) -> list[tuple[str, str]]:
    """Return (page, form) of the forms that the guard would refuse; undoing and the bin are left to their own test."""
    found = []
    for address, html in pages.items():
        for form in forms_of(address, html):
            to = urlsplit(form.action).path
            if not may(role, "POST", to) and not to.startswith(("/undo/", "/bin/")):
                found.append((address, to))
    return found


def test_a_viewer_meets_no_form_that_changes_anything_on_any_page(kitchen: None) -> None:
    client = device()
    sign_in(client, "cleo")
    pages = walk(client)
    assert len(pages) > 60
    assert refused(pages, people.VIEWER) == []
    posts = {form for html in pages.values() for form in FORM.findall(html) if 'method="post"' in form}
    assert all("/sign-out/" in form or "/password/" in form for form in posts - {'<form method="post" class="stack">'})
    for address, html in pages.items():
        if 'method="post"' in html:
            assert address == "/password/", address
    assert "Your account can look at everything but not change it" in pages["/pantry/"]
    for link in ("/batches/new/", "/pantry/add/", "/pantry/count/", "/dryers/new/", "/foods/recipes/new/"):
        assert link not in pages, link


def test_a_helper_meets_no_form_of_owners_and_keeps_those_of_the_work(kitchen: None) -> None:
    client = device()
    sign_in(client, "ben")
    pages = walk(client)
    assert refused(pages, people.HELPER) == []
    assert "/batches/new/" in pages
    assert "/dryers/new/" not in pages
    assert "Only an owner can change this page" in pages["/dryers/"]
    assert 'action="/bin/restore/"' in pages["/bin/"]
    undo = re.findall(r'action="(/undo/\d+/)"', client.get("/history/?kind=dryers.dryer").content.decode())
    assert undo == []


def test_without_accounts_every_form_is_there(client: Client) -> None:
    html = client.get("/pantry/places/").content.decode()
    assert 'method="post"' in html
    assert "but not change it" not in html
