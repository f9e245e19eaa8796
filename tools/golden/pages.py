"""Every page, file and answer of the small demo kitchen, as its owner gets them, in each language and unit system."""

import logging
import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, urlsplit

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from tests.web.crawl import Answer, Crawl
from tests.web.lan import PASSWORD, sign_in
from tests.web.page_form import fields_of

from tools.golden import demo, plain

READERS = (("en", "us"), ("en", "si"), ("es", "si"))
OWNER = "Ana"
ALIKE = 8
"""Most addresses of one kind: batches in every stage."""
ROUNDS = 5
"""Crawls after which nothing may be left to work out."""
LONGEST_NAME = 200
TOLD = ("Location", "Content-Disposition", "Content-Language", "HX-Redirect", "HX-Trigger", "Refresh")
"""Headers that somebody notices."""
TOKEN = re.compile(r"dry_[\w-]{20,}")
STARTS = ("/", "/foods/?q=strawberries", "/foods/pick/?q=corn", "/foods/?q=nothing+like+that", "/no-such-page/")
LOGGER = "time,shelf (C),pressure (Pa)\n" + "".join(
    f"2026-06-13 {hour:02}:00,{-20 + 3 * hour},{40 - hour}\n" for hour in range(1, 21)
)
STEPS: tuple[tuple[str, dict[str, object]], ...] = (
    ("/dryers/1/tests/leak/", {"readings": "0 60 mTorr\n5 75 mTorr\n10 90 mTorr\n20 121 mTorr\n30 150 mTorr"}),
    ("/dryers/1/readings/file/", {"file": SimpleUploadedFile("logger.csv", LOGGER.encode())}),
    ("/dryers/service/1/bin/", {}),
    ("/batches/9/best-load/", {"action": "search"}),
    ("/batches/9/best-program/", {"action": "search"}),
    ("/plans/seasons/1/about/", {"rounds": "2"}),
    ("/plans/seasons/1/try/", {}),
    ("/plans/1/again/", {}),
    ("/data/tokens/", {"name": "cellar thermometer", "scope": "read"}),
)
"""What the owner does before anybody looks: address of a form -> what she fills in."""


class Owner:
    """The owner at a browser, who keeps what she gets."""

    def __init__(self) -> None:
        from drystow.web.accounts import people

        people.add(OWNER, people.OWNER, PASSWORD)
        self.client = Client(SERVER_NAME="localhost", raise_request_exception=False)
        self.units = "us"
        self.token = ""
        self.kept: dict[str, str] = {}
        sign_in(self.client, OWNER)

    def get(self, address: str, part: bool) -> Answer:
        """Return the answer to a look, and keep it."""
        self.client.cookies["units"] = self.units  # also after a link that shows the other ones
        headers = {"HX-Request": "true"} if part else {}
        if address.startswith("/api/"):
            headers["Authorization"] = f"Bearer {self.token}"
        answer = self.client.get(address, headers=headers)
        kind, content = _kind(answer), _content(answer)
        self.kept[f"{address} (part)" if part else address] = _head(answer) + plain.of_content(kind, content)
        text = content.decode() if kind == "text/html" else ""
        location = urlsplit(answer.headers.get("Location", ""))._replace(scheme="", netloc="").geturl()
        return Answer(answer.status_code, text, location)

    def send(self, address: str, values: dict[str, object], action: str = "") -> str:
        """Send a form as it stands with some fields filled in, go on with the page it leads to, and say what came.

        action: where the form is sent to, its own page when empty
        """
        form = fields_of(_content(self.client.get(address)).decode())
        answer = self.client.post(action or address, form | values)
        said = f"POST {address}\n{_head(answer)}"
        found = TOKEN.search(_content(answer).decode())
        self.token = found[0] if found else self.token
        where = answer.headers.get("Location", "")
        if where and "file" in values:  # what was read from it is looked at before it is saved
            return said + self.send(where, {}, f"{where}read/")
        return said


def take_pages(folder: Path, data: Path) -> None:
    """Write what every address answers into a folder.

    folder: a folder for each reader is made in it
    data: empty folder for the records
    """
    logging.disable(logging.ERROR)  # an answer of 500 is kept like any other
    demo.open_kitchen(data)
    owner = Owner()
    keep(folder / "pages-before", {"steps": plain.settled("".join(owner.send(*step) for step in STEPS))})
    for language, units in READERS:
        owner.units = units
        owner.send("/settings/", {"language": language, "units": units})
        owner.client.get("/")  # says that it is saved
        keep(folder / f"pages-{language}-{units}", _all_answers(owner))


def _all_answers(owner: Owner) -> dict[str, str]:
    """Return what every address answers when nothing is left to work out."""
    for _round in range(ROUNDS):
        demo.begun.clear()
        owner.kept.clear()
        Crawl(owner.get, ALIKE).run(*STARTS)
        if not demo.begun:
            return owner.kept
    raise RuntimeError(f"after {ROUNDS} looks at every page there is still something to work out: {demo.begun}")


def keep(folder: Path, answers: dict[str, str]) -> None:
    """Write answers, each into a file of its own that is named after its address."""
    folder.mkdir(parents=True)
    for address, text in answers.items():
        name = quote(address, safe=" ()?=&,")
        if len(name) > LONGEST_NAME:
            name = f"{name[:LONGEST_NAME]} {zlib.crc32(name.encode()):08x}"
        (folder / f"{name}.txt").write_text(text, encoding="utf-8")


def _head(answer: HttpResponse) -> str:
    def lines() -> Iterator[str]:
        yield f"{answer.status_code} {_kind(answer)}"
        yield from (f"{name}: {answer.headers[name]}" for name in TOLD if name in answer.headers)

    return "".join(f"{line}\n" for line in lines())


def _kind(answer: HttpResponse) -> str:
    return answer.headers.get("Content-Type", "").partition(";")[0]


def _content(answer: HttpResponse) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else answer.content
