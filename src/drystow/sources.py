"""The bibliography: where every value comes from, and how far it can be trusted."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from drystow.messages import msg

MARKS = {
    "read": msg("checked against the source"),
    "memory": msg("not yet checked against the source"),
    "common practice": msg("common practice"),
    "class default": msg("typical value for this kind of food; replace it with your own measurement"),
    "fitted": msg("fitted so that a published result comes out"),
    "calc": msg("calculated from other values listed here"),
    "definition": msg("a definition or an exact identity"),
}

SHORT_MARKS = {
    "read": msg("checked"),
    "memory": msg("unchecked"),
    "common practice": msg("common practice"),
    "class default": msg("typical for its kind"),
    "fitted": msg("fitted"),
    "calc": msg("calculated"),
    "definition": msg("definition"),
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
