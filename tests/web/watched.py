"""The demo on a real server in an empty folder, its writes watched, crawled by people who only look."""

import http.client
import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from tests.patience import PATIENCE
from tests.web.crawl import Answer, Crawl
from tests.web.kitchen import served_by
from tests.web.lan import PASSWORD
from tests.web.page_form import fields_of
from tests.web.watch import Watch

WRITTEN = "written-by-reading.txt"
UNFINISHED = "demo-unfinished"


def main() -> None:
    """Serve the demo in an empty folder, with an owner and a viewer; notes on writes go into a file beside it."""
    from drystow.web.server import make_server, start_django

    note = Path(WRITTEN).open("a", buffering=1, encoding="utf-8")  # noqa: SIM115 (as long as the server runs)
    watch = Watch(lambda line: note.write(line + "\n"))
    start_django(demo=True, lan=True)
    watch.every_connection()
    from django.db import connection

    from drystow.web.accounts import people

    people.add("Ana", people.OWNER, PASSWORD)
    people.add("Ben", people.VIEWER, PASSWORD)
    connection.close()
    server = make_server(demo=True, lan=True, port=0)
    server.application = watch.over(server.application)
    print(json.dumps({"port": server.effective_port}), flush=True)
    server.run()


@dataclass(frozen=True)
class Served:
    """A running server.

    port: that it listens on
    folder: of its data, with what it wrote down
    """

    port: int
    folder: Path

    @property
    def filling(self) -> bool:
        """The demo's year is being written."""
        return (self.folder / UNFINISHED).exists()

    def written(self) -> list[str]:
        """Return what requests that only read wrote."""
        path = self.folder / WRITTEN
        return path.read_text(encoding="utf-8").splitlines() if path.exists() else []

    def complaints(self) -> str:
        """Return what the server printed on errors."""
        return (self.folder / "complaints.txt").read_text(encoding="utf-8", errors="replace")


@contextmanager
def watched_demo(folder: Path) -> Iterator[Served]:
    """Give the server, which runs until the end of the block."""
    with served_by("from tests.web.watched import main; main()", folder) as line:
        yield Served(json.loads(line)["port"], folder)


class Person:
    """Somebody at a browser of their own."""

    def __init__(self, served: Served, name: str, units: str) -> None:
        self.served, self.name, self.units = served, name, units
        self.cookies: dict[str, str] = {"units": units}
        self.send("/sign-in/", {"name": name, "password": PASSWORD})

    def get(self, address: str, part: bool = False) -> Answer:
        """Return the answer to a look."""
        return self._ask("GET", address, "", {"HX-Request": "true"} if part else {})

    def send(self, address: str, values: dict[str, str]) -> Answer:
        """Return the answer to a form, with what else stands in it."""
        form = fields_of(self.get(address).text) | values
        headers = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._ask("POST", address, urlencode(form), headers)

    def _ask(self, method: str, address: str, body: str, headers: dict[str, str]) -> Answer:
        there = http.client.HTTPConnection("127.0.0.1", self.served.port, timeout=PATIENCE)
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        try:
            there.request(method, address, body, headers | {"Cookie": cookies})
            answer = there.getresponse()
            content = answer.read()
        except (OSError, http.client.HTTPException):
            return Answer(0)
        finally:
            there.close()
        for line in answer.headers.get_all("Set-Cookie") or ():
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        self.cookies["units"] = self.units  # also after a link that shows the other ones
        text = content.decode() if answer.headers.get_content_type() == "text/html" else ""
        location = urlsplit(answer.headers.get("Location", ""))
        return Answer(answer.status, text, location._replace(scheme="", netloc="").geturl())


def crawl_together(
    people: list[Person], alike: int, end: Callable[[], bool] = lambda: False, *, most: int = 0
) -> list[Crawl]:
    """Return the crawls of several people at once.

    alike: most addresses of one kind, 0 for all
    end: stops them early
    most: that each asks for, 0 for all
    """
    crawls = [Crawl(person.get, alike, end, most) for person in people]
    threads = [threading.Thread(target=crawl.run) for crawl in crawls]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return crawls
