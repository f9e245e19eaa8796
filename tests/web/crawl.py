"""Ask for every address of the site: all that pages link to, and all URL patterns that no page links to."""

import html
import re
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from urllib.parse import parse_qsl, urljoin, urlsplit

from django.urls import Resolver404, URLPattern, URLResolver, get_resolver, resolve

from tests.web.shown_words import worse_words

LINK = re.compile(r'\b(href|src|hx-get)="([^"]+)"')
FORM = re.compile(r"<form\b[^>]*>")
ARGUMENT = re.compile(r"<(?:(\w+):)?(\w+)>")
USUAL = {"int": "1"}
"""What stands for an argument that no page has shown."""
PAGE_LIMIT = 3_000_000


@dataclass(frozen=True)
class Answer:
    """What came back for an address."""

    status: int
    text: str = ""
    location: str = ""


Get = Callable[[str, bool], Answer]
"""Asks for an address; the second value says whether htmx asks for a part of a page."""


@dataclass(frozen=True)
class Visit:
    """An address that was asked for."""

    address: str
    status: int
    seconds: float
    name: str


@dataclass
class Crawl:
    """Asks for one address after the other; what it found is in `visits`, words of pages
    that have a better one in `worse`.

    get: how to ask
    alike: most addresses of one kind, that is of one URL pattern and one set of words in the query; 0 for all
    end: stops the crawl early
    most: addresses that are asked for, 0 for all
    """

    get: Get
    alike: int = 1
    end: Callable[[], bool] = lambda: False
    most: int = 0
    visits: list[Visit] = field(default_factory=list)
    worse: list[str] = field(default_factory=list)
    _guessed: set[str] = field(default_factory=set)
    _seen: set[tuple[str, bool]] = field(default_factory=set)
    _kinds: Counter[tuple[str, frozenset[str], bool]] = field(default_factory=Counter)
    _waiting: list[tuple[str, bool]] = field(default_factory=list)
    _known: dict[str, dict[str, str]] = field(default_factory=dict)
    _names: set[str] = field(default_factory=set)

    def run(self, *starts: str) -> list[Visit]:
        """Crawl from these addresses on, then the URL patterns that were not reached, and return all visits."""
        for start in starts or ("/",):
            self._note(start, False)
        self._work_off()
        for _round in range(2):  # what the first of them links to may make others known
            for address in list(self._unreached()):
                self._guessed.add(address)
                self._note(address, False)
            self._work_off()
        return self.visits

    @property
    def statuses(self) -> Counter[int]:
        """Return how many answers of each status there were."""
        return Counter(visit.status for visit in self.visits)

    @property
    def broken(self) -> list[Visit]:
        """Return the visits that the server failed to answer."""
        return [visit for visit in self.visits if visit.status >= 500 or visit.status == 0]

    @property
    def dead(self) -> list[Visit]:
        """Return the visits to addresses that a page links to and where nothing is."""
        return [visit for visit in self.visits if visit.status == 404 and visit.address not in self._guessed]

    def _work_off(self) -> None:
        while self._waiting and not self.end() and not 0 < self.most <= len(self.visits):
            address, part = self._waiting.pop(0)
            begin = time.perf_counter()
            answer = self.get(address, part)
            self.visits.append(Visit(address, answer.status, time.perf_counter() - begin, _name(address)))
            if "<html" in answer.text:
                self.worse += [f"{address}: {words}" for words in worse_words(answer.text)]
            if answer.location:
                self._note(urljoin(address, answer.location), False)
            for found, of_part in _links(answer.text[:PAGE_LIMIT]):
                self._note(urljoin(address, found), of_part)

    def _note(self, address: str, part: bool) -> None:
        """Have an address asked for, unless it is elsewhere, was asked for, or enough like it were."""
        pieces = urlsplit(address)
        if pieces.scheme or pieces.netloc:
            return
        address = pieces._replace(fragment="").geturl()
        kind = (_name(address), frozenset(key for key, _value in parse_qsl(pieces.query, True)), part)
        if (address, part) in self._seen or (self.alike and self._kinds[kind] >= self.alike):
            return
        self._seen.add((address, part))
        self._kinds[kind] += 1
        self._names.add(kind[0])
        self._learn(pieces.path)
        self._waiting.append((address, part))

    def _learn(self, path: str) -> None:
        try:
            found = resolve(path)
        except Resolver404:
            return
        for one in ARGUMENT.finditer(found.route):
            prefix = found.route[: one.end()]
            names = [argument[1] for argument in ARGUMENT.findall(prefix)]
            self._known.setdefault(prefix, {name: str(found.kwargs[name]) for name in names if name in found.kwargs})

    def _unreached(self) -> Iterator[str]:
        for route in routes():
            if route in self._names:
                continue
            values: dict[str, str] = {}
            for one in ARGUMENT.finditer(route):
                values |= self._known.get(route[: one.end()], {})
            yield "/" + ARGUMENT.sub(lambda one, got=values: got.get(one[2], USUAL.get(one[1], "x")), route)


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[str]:
    """Yield the route of every URL pattern."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = before + str(pattern.pattern)
        if isinstance(pattern, URLPattern):
            yield route
        else:
            yield from routes(pattern, route)


def _name(address: str) -> str:
    """Return the route of an address, its first folder when it has none, such as a file's."""
    path = urlsplit(address).path
    try:
        return str(resolve(path).route)
    except Resolver404:
        return path.split("/")[1] if "/" in path else path


def _links(text: str) -> Iterator[tuple[str, bool]]:
    for attribute, address in LINK.findall(text):
        if not address.startswith(("data:", "mailto:", "#")):
            yield html.unescape(address), attribute == "hx-get"
    for form in FORM.findall(text):
        action = re.search(r'\baction="([^"]+)"', form)
        if 'method="get"' in form and action is not None:
            yield html.unescape(action[1]), False
