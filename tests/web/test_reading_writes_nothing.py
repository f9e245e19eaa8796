"""Whoever only looks changes nothing: no request that reads writes a row or waits for who writes, whoever asks.

No page is worked out of texts either: what a row holds comes to the engine as a number.

No page on the way, be it one of an error, has a word that `docs/words.md` has a better one for.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test import Client, override_settings
from django.utils import timezone

from drystow import units
from drystow.machine.profile import dryer_profile, profile_names
from drystow.packing.containers import containers, materials
from drystow.web.accounts import people
from drystow.web.accounts.tokens import new_token
from drystow.web.batches.models import Happening
from drystow.web.costs.models import Outdated
from drystow.web.costs.sums import rebuild_sums
from drystow.web.demo.fill import fill
from drystow.web.foods.models import Recipe, RecipeLine
from drystow.web.kit import records
from drystow.web.kit.models import Answer as KeptAnswer
from drystow.web.kit.models import Change, Kitchen
from tests.web.batch_rows import a_batch, an_item
from tests.web.crawl import Answer, Crawl, routes
from tests.web.lan import LAN, PASSWORD, device, sign_in
from tests.web.watch import Watch

STARTS = ("/", "/start/", "/batches/", "/plans/", "/pantry/", "/foods/", "/dryers/", "/costs/", "/settings/", "/data/",
          "/history/", "/bin/", "/foods/t/f00503/", "/api/v1/batches")  # fmt: skip
NEVER = ("/static/",)
GONE = ("/batches/photos/",)
"""The file of the photo of `odd` is not there."""


@pytest.fixture
def odd() -> tuple[str, ...]:
    """Addresses of the rows that an older program left; with batches in every stage round about.

    A kitchen with batches in every stage, and with all that is worked out or summed up only when it is needed.
    """
    fill(batches=8, now=datetime(2026, 6, 14, 10, tzinfo=UTC))
    old = records.create(Recipe(name="From an old backup"))
    RecipeLine.objects.create(recipe=old, food="f00503", name="Blueberries", mass_kg=1.0)
    ended = a_batch(lot="FRESH", ended_at=timezone.now(), opened_at=timezone.now(), energy_kwh=9.0)
    an_item(ended, price=3.0)
    records.create(Happening(batch=ended, kind="photo", at=timezone.now(), photo="photos/none.jpg"))
    return (f"/foods/recipes/{old.pk}/edit/", f"/batches/{ended.pk}/proof/", f"/batches/{ended.pk}/done/")


class Reader:
    """Somebody who only looks, watched while doing so."""

    def __init__(self, client: Client, units: str, watch: Watch, secret: str = "") -> None:
        self.client, self.watch, self.secret = client, watch, secret
        client.cookies["units"] = units

    def get(self, address: str, part: bool) -> Answer:
        if address.startswith(NEVER):
            return Answer(200)
        headers = {"HX-Request": "true"} if part else {}
        if self.secret and address.startswith("/api/"):
            headers["Authorization"] = f"Bearer {self.secret}"
        with self.watch.reading(address), connection.execute_wrapper(self.watch):
            answer = self.client.get(address, headers=headers)
            body = b"".join(answer.streaming_content) if answer.streaming else answer.content
        text = body.decode() if answer.headers.get("Content-Type", "").startswith("text/html") else ""
        return Answer(answer.status_code, text, answer.headers.get("Location", ""))


def rows() -> tuple[int, ...]:
    """What a look must not touch."""
    return tuple(model.objects.count() for model in (Kitchen, Change, KeptAnswer, Outdated))


@pytest.fixture
def watch() -> Iterator[Watch]:
    for name in profile_names():
        dryer_profile(name)  # read from the files of the package, once
    materials(), containers()
    watch = Watch()
    with watch.over_the_parser():
        yield watch
    assert watch.found == []
    assert watch.parsed == []


def test_a_first_look_at_an_empty_kitchen_writes_nothing(watch: Watch) -> None:
    before = rows()
    crawl = Crawl(Reader(Client(SERVER_NAME="localhost"), "us", watch).get)
    crawl.run(*STARTS)
    assert crawl.broken == []
    assert crawl.worse == []
    assert rows() == before == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("who", "units", "language"),
    [("", "us", "es"), ("owner", "si", "en"), ("viewer", "us", "es"), ("helper", "si", "es")],
)
def test_no_look_at_any_page_writes_anything(
    odd: tuple[str, ...], watch: Watch, who: str, units: str, language: str
) -> None:
    kitchen = records.kitchen()
    records.change(kitchen, {"language": language}, expected=kitchen.version)
    secret = new_token("screen", "read")[1]
    with ExitStack() as ways:
        client = Client(SERVER_NAME="localhost")
        if who:
            ways.enter_context(LAN)
            people.add("ana", who, PASSWORD)
            client = device()
            assert sign_in(client, "ana").status_code == 302
        before = rows()
        assert before[-1] > 0
        crawl = Crawl(Reader(client, units, watch, secret).get)
        crawl.run(*odd, *STARTS)
        assert crawl.broken == []
        assert [visit.address for visit in crawl.dead if not visit.address.startswith(GONE)] == []
        assert crawl.worse == []
        assert rows() == before
        missed = set(routes()) - {visit.name for visit in crawl.visits}
        assert missed == set()
        assert crawl.statuses[200] > (60 if who else 100), crawl.statuses


def test_who_is_not_signed_in_writes_nothing_either(odd: tuple[str, ...], watch: Watch) -> None:
    with LAN:
        crawl = Crawl(Reader(device(), "us", watch).get)
        crawl.run(*STARTS)
    assert crawl.broken == []
    assert crawl.worse == []
    assert set(crawl.statuses) <= {200, 302, 401}


def test_a_watched_write_is_found(watch: Watch) -> None:
    with watch.reading("/somewhere/"), connection.execute_wrapper(watch):
        records.create(Kitchen())
    assert {address for address, _sql in watch.found} == {"/somewhere/"}
    watch.found.clear()


def test_a_text_that_is_read_as_a_quantity_is_found(watch: Watch) -> None:
    with watch.reading("/somewhere/"):
        units.parse("2 kg", "mass", "mass")
    assert watch.parsed == [("/somewhere/", "2 kg")]
    watch.parsed.clear()


def test_the_demo_page_writes_nothing(watch: Watch) -> None:
    rebuild_sums()
    with override_settings(DEMO=True):
        assert Reader(Client(SERVER_NAME="localhost"), "us", watch).get("/", False).status == 200
