"""Every form that writes, on every page that a link leads to."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

from django.test import Client
from django.urls import Resolver404, resolve

AS_MANY = 8
"""Pages of one kind that are looked at: a batch in each of its stages."""


@dataclass(frozen=True)
class PageForm:
    """A form that writes, as it stands on a page.

    page: address that it stands on
    action: address that it is sent to
    fields: name -> values, as they stand
    files: names of its fields for files
    buttons: (name, value) of each; one of them is sent along
    """

    page: str
    action: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    def pressed(self) -> Iterator[dict[str, list[str]]]:
        """What is sent, for each button."""
        for name, value in self.buttons or [("", "")]:
            yield self.fields | ({name: [value]} if name else {})


class _Reader(HTMLParser):
    """Collects links and forms of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page, self.links = page, list[str]()
        self.forms: list[PageForm] = []
        self.form: PageForm | None = None
        self.elsewhere: list[str] = []
        self.chosen, self.first, self.area = "", "", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "a" and "href" in has and "download" not in has:
            self.links.append(urljoin(self.page, has["href"]))
        if tag == "form":
            self.form, self.elsewhere = None, []
            if has.get("method", "").lower() == "post":
                self.form = PageForm(self.page, urljoin(self.page, has.get("action") or self.page))
                self.forms.append(self.form)
        if self.form is None or "disabled" in has:
            return
        name, kind = has.get("name", ""), has.get("type", "")
        if tag == "select":
            self.chosen, self.first = name, ""
        elif tag == "option" and self.chosen:
            if "selected" in has or not self.first:
                self.form.fields[self.chosen] = [has.get("value", "")]
            self.first = self.first or "seen"
        elif tag == "textarea":
            self.area = name
            self.form.fields.setdefault(name, [""])
        elif tag == "button" and "formaction" in has:
            self.elsewhere.append(urljoin(self.page, has["formaction"]))
        elif tag == "button" and kind != "button":
            self.form.buttons.append((name, has.get("value", "")))
        elif name and tag == "input" and kind == "file":
            self.form.files.append(name)
        elif name and tag == "input" and (kind not in ("checkbox", "radio") or "checked" in has):
            usual = "on" if kind in ("checkbox", "radio") else ""
            self.form.fields.setdefault(name, []).append(has.get("value", usual))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            if self.form is not None:  # a button that sends the same fields elsewhere is a form of its own
                self.forms += [replace(self.form, action=action, buttons=[]) for action in self.elsewhere]
            self.form = None
        if tag == "select":
            self.chosen = ""
        if tag == "textarea":
            self.area = ""

    def handle_data(self, data: str) -> None:
        if self.area and self.form is not None:
            self.form.fields[self.area] = [data.removeprefix("\n")]


def forms_of(page: str, html: str) -> list[PageForm]:
    """The forms of one page."""
    reader = _Reader(page)
    reader.feed(html)
    return reader.forms


def every_form(client: Client, starts: tuple[str, ...] = ("/",)) -> Iterator[PageForm]:
    """Walk from page to page and yield their forms, each kind of form of each kind of page once."""
    waiting, seen, kinds, known = [*starts], set(starts), Counter[str](), set[tuple[str, ...]]()
    while waiting:
        address = waiting.pop(0)
        answer = client.get(address, follow=True)
        address = answer.request["PATH_INFO"] + (f"?{query}" if (query := answer.request["QUERY_STRING"]) else "")
        if answer.status_code != 200 or not answer.headers["Content-Type"].startswith("text/html"):
            answer.close()
            continue
        reader = _Reader(address)
        reader.feed(answer.content.decode())
        for form in reader.forms:
            buttons = [f"{name}={value}" for name, value in form.buttons]
            parts = (_kind(address), _kind(form.action), *sorted(form.fields), *form.files, *buttons)
            looks = tuple(dict.fromkeys(re.sub(r"[A-Z0-9]{6}-|\d+", "#", part) for part in parts))
            if looks not in known:
                known.add(looks)
                yield form
        for link in reader.links:
            found = urlsplit(link)
            target = found.path + (f"?{found.query}" if found.query else "")
            kind = _kind(target) + ("?" + re.sub(r"=[^&]*", "", found.query) if found.query else "")
            if found.netloc or target in seen or not kind or kinds[kind] >= AS_MANY:
                continue
            seen.add(target)
            kinds[kind] += 1
            waiting.append(target)


def _kind(address: str) -> str:
    try:
        return str(resolve(urlsplit(address).path).view_name)
    except Resolver404:
        return ""
