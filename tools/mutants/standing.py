"""What kind of number a constant is, and why nothing from outside holds it where nothing does."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tools.mutants.registry import SOURCE, Constant

STANDINGS = {
    "sourced": "with a source",
    "choice": "choices of this program and typical values of a class",
    "spread": "spreads and errors: how uncertain another number is",
    "rule": "rules, labels and public advice",
    "definition": "definitions",
    "numerics": "what steers a solver",
}
UNTOLD = {
    "sourced": "no published number was found that depends on it enough",
    "choice": "a typical value or a choice; nobody published one to hold it against",
    "spread": "says how uncertain another number is; shares of runs inside their ranges judge all of them together",
    "rule": "carried and not computed",
    "definition": "exact",
    "numerics": "steers the solution; the answer does not depend on it",
}
CHOSEN = ("class default", "common practice")


@dataclass(frozen=True)
class Standing:
    """What is known of a constant.

    name: key of `STANDINGS`
    source: key of the bibliography, or empty
    why: why nothing from outside notices, where nothing does
    """

    name: str
    source: str
    why: str


@cache
def _about() -> list[dict[str, str]]:
    rows: list[dict[str, str]] = tomllib.loads((Path(__file__).parent / "reasons.toml").read_text(encoding="utf-8"))[
        "about"
    ]
    return rows


@cache
def _marks() -> dict[str, str]:
    table = tomllib.loads((SOURCE / "sources.toml").read_text(encoding="utf-8"))
    return {key: row["mark"] for key, row in table.items()}


def standing_of(constant: Constant) -> Standing:
    """Return what kind of number a constant is.

    constant: of the registry
    """
    known = next((row for row in _about() if re.search(row["key"], constant.key)), {})
    source = constant.source if constant.source in _marks() else known.get("source", "")
    if constant.spread:
        name = "spread"
    elif "standing" in known:
        name = known["standing"]
    elif source == "definition":
        name = "definition"
    elif not source or constant.mark in CHOSEN or _marks()[source] in CHOSEN:
        name = "choice"
    else:
        name = "sourced"
    return Standing(name, source, known.get("why", UNTOLD[name]))
