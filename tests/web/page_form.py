"""What a browser sends back of a form on a page."""

from html.parser import HTMLParser
from typing import Any


class _Fields(HTMLParser):
    """Collects what the fields of all forms on a page hold."""

    def __init__(self) -> None:
        super().__init__()
        self.values: dict[str, str] = {}
        self.choosing = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = dict(attrs)
        if tag == "select":
            self.choosing = has.get("name") or ""
        elif tag == "option" and "selected" in has:
            self.values[self.choosing] = has.get("value") or ""
        elif tag == "input" and has.get("name") and (has.get("type") != "checkbox" or "checked" in has):
            self.values[str(has["name"])] = has.get("value") or ("on" if has.get("type") == "checkbox" else "")


def fields_of(text: str) -> dict[str, str]:
    """Return what the fields of all forms of an HTML text hold."""
    reader = _Fields()
    reader.feed(text)
    return reader.values


def sent_back(page: Any, **changes: str) -> dict[str, str]:
    """Return the fields of a page as they stand, with some changed."""
    return fields_of(page.content.decode()) | changes
