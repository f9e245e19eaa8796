"""The bibliography: where every value comes from, and how far it can be trusted."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drystow.messages import say

MARKS = {
    "read": say("checked against the source"),
    "memory": say("not yet checked against the source"),
    "common practice": say("common practice"),
    "class default": say("typical value for this kind of food; replace it with your own measurement"),
    "calc": say("calculated from other values listed here"),
    "definition": say("a definition or an exact identity"),
}

SHORT_MARKS = {
    "read": say("checked"),
    "memory": say("unchecked"),
    "common practice": say("common practice"),
    "class default": say("typical for its kind"),
    "calc": say("calculated"),
    "definition": say("definition"),
}
"""The same in a word or two, to stand beside a source."""


@dataclass(frozen=True)
class Source:
    """One entry of the bibliography.

    key: short name used in docstrings, data files and results
    text: the reference, as printed in reports
    mark: one of `MARKS`, how the value got here
    """

    key: str
    text: str
    mark: str


@cache
def bibliography() -> dict[str, Source]:
    """Return every source by key."""
    raw = tomllib.loads(files("drystow").joinpath("sources.toml").read_text(encoding="utf-8"))
    return {key: Source(key, entry["text"], entry["mark"]) for key, entry in raw.items()}


def cite(key: str) -> Source:
    """Return the source called `key`; KeyError when the bibliography has no such key."""
    return bibliography()[key]
