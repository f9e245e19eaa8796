"""What a command or an address gave, as plain lines that two takes can be compared by."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

from drystow import __version__

ROOT = Path(__file__).parents[2]
INLINE = frozenset(
    ("a", "abbr", "b", "bdi", "code", "em", "i", "kbd", "mark", "q", "s", "small", "span", "strong", "sub")
)
INLINE |= {"sup", "time", "tspan", "u", "var", "wbr"}
"""Tags within a line of text; every other tag begins a new line."""
TARGETS = ("href", "src", "action", "formaction", "hx-get", "hx-post", "hx-trigger", "http-equiv")
FIELDS = frozenset(
    ("input", "select", "textarea", "button", "option", "optgroup", "form", "output", "meter", "progress")
)
OF_FIELDS = (
    "method",
    "enctype",
    "type",
    "name",
    "value",
    "label",
    "min",
    "max",
    "step",
    "list",
    "maxlength",
    "pattern",
)
SWITCHES = ("checked", "selected", "required", "disabled", "readonly", "multiple", "hidden", "open")
SAID = ("alt", "title", "aria-label", "placeholder", "content", "lang")
"""Attributes that somebody reads or hears."""
ONCE_ONLY = frozenset(("csrfmiddlewaretoken", "once"))
"""Fields that hold another random key on every page."""


class Rule(NamedTuple):
    """Something that differs between two takes of the same tree.

    pattern: finds it
    instead: stands in its place
    reason: why it differs
    """

    pattern: re.Pattern[str]
    instead: str
    reason: str


RULES = (
    Rule(re.compile(rf"(?<![\w.]){re.escape(__version__)}(?![\w.])"), "<version>", "a release changes no answer"),
    Rule(re.compile(r"(?m)^DTSTAMP:.*$"), "DTSTAMP:<now>", "a calendar says when it was written"),
    Rule(re.compile(r"Prepared \w{3} \d+, \d{4}|Prepared \d+ \w{3} \d{4}"), "Prepared <today>", "a sheet says its day"),
    Rule(re.compile(r"\bdrystow-[0-9a-f]{12}\b"), "drystow-<random>", "a broker knows each house by a random name"),
    Rule(re.compile(r'("written_at": )"[^"]*"'), r"\1<now>", "a backup says when it was written"),
    Rule(re.compile(r"\b[0-9a-f]{32}\b"), "<random>", "files that wait and changes made together have random names"),
    Rule(re.compile(re.escape(str(ROOT))), "<root>", "the tree may stand anywhere"),
    Rule(re.compile(r"(?:/[\w.-]+)*/golden-[\w-]{8}\b"), "<folder>", "the data folder is another one each time"),
)


def settled(text: str) -> str:
    """Return a text without what differs from take to take."""
    for rule in RULES:
        text = rule.pattern.sub(rule.instead, text)
    return text


class _Page(HTMLParser):
    """Collects what a page says, holds and leads to."""

    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []
        self.links: list[str] = []
        self.silent = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what the attributes of a tag say."""
        has = {name: value or "" for name, value in attrs}
        if tag in ("style", "script") and has.get("type") != "application/json":
            self.silent = tag
        self.parts.append("" if tag in INLINE else "\n")
        if tag == "a":
            self.links.append(has.pop("href", ""))
        told = " ".join(_told(tag, has))
        if told or tag in FIELDS:
            self.parts.append(f"[{' '.join((tag, told)).strip()}] ")

    def handle_endtag(self, tag: str) -> None:
        """Close a line, or say where a link leads."""
        if tag == self.silent:
            self.silent = ""
        if tag == "a" and self.links:
            self.parts.append(f" (to {self.links.pop()}) ")
        self.parts.append("" if tag in INLINE else "\n")

    def handle_data(self, data: str) -> None:
        """Note what can be read."""
        if not self.silent:
            self.parts.append(re.sub(r"\s+", " ", data))


def _told(tag: str, has: dict[str, str]) -> Iterator[str]:
    if has.get("name") in ONCE_ONLY:
        has["value"] = "<random>"
    names = (*TARGETS, *(OF_FIELDS if tag in FIELDS else ()), *SAID)
    for name in (*names, *sorted(name for name in has if name.startswith("data-"))):
        if name in has:
            yield f"{name}={' '.join(has[name].split())}"
    yield from (name for name in SWITCHES if name in has)


def of_html(page: str) -> str:
    """Return what a page says, a block a line, with its fields and where its links lead."""
    reader = _Page()
    reader.feed(page)
    reader.close()
    lines = (" ".join(line.split()) for line in "".join(reader.parts).split("\n"))
    return "".join(f"{line}\n" for line in lines if line)


def of_json(content: str) -> str:
    """Return JSON, a value a line."""
    return json.dumps(json.loads(content), indent=1, ensure_ascii=False) + "\n"


def of_pdf(content: bytes) -> str:
    """Return the text of a PDF, page by page."""
    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(content)).pages
    return "".join(f"page {number}\n{page.extract_text()}\n" for number, page in enumerate(pages, start=1))


def of_workbook(content: bytes) -> str:
    """Return the sheets of a workbook as lines with commas."""
    from openpyxl import load_workbook

    text = io.StringIO()
    for sheet in load_workbook(io.BytesIO(content), read_only=True).worksheets:
        text.write(f"sheet {sheet.title}\n")
        csv.writer(text, lineterminator="\n").writerows(sheet.iter_rows(values_only=True))
    return text.getvalue()


def of_zip(content: bytes) -> str:
    """Return the members of an archive by name, with the text of those that hold JSON, whole or a line each."""
    lines: list[str] = []
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for name in sorted(archive.namelist()):
            lines.append(f"member {name}\n")
            if name.endswith((".json", ".jsonl")):
                text = archive.read(name).decode()
                lines.append(of_json(text) if name.endswith(".json") else text)
    return "".join(lines)


KINDS = {
    "application/pdf": of_pdf,
    "application/zip": of_zip,
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": of_workbook,
    "application/json": lambda content: of_json(content.decode()),
    "text/html": lambda content: of_html(content.decode()),
}
SILENT = ("text/css", "text/javascript", "image/", "font/")
"""Kinds whose content nobody reads: only that they are there is kept."""


def of_content(kind: str, content: bytes) -> str:
    """Return any content as text.

    kind: its media type, without what follows a semicolon
    """
    if kind.startswith(SILENT):
        return ""
    as_text = KINDS.get(kind)
    return settled(as_text(content) if as_text and content else content.decode(errors="replace").replace("\r\n", "\n"))
