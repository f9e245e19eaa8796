"""What can end the keeping of a package, and on what evidence."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from drystow.messages import msg

ESTIMATE = msg("estimated from its composition and from storage studies of similar food")
CALCULATED = msg("calculated from the package's figures, not from a storage study")
NO_END_FOUND = msg("a storage study of such food found no end within this time")
NOT_KNOWN = msg("no storage study of such food was found, so the date is one to check it")
EARLIER = msg("planning estimate of an earlier version")

COOKS_WORDS: dict[str, str] = {
    ESTIMATE: msg("estimate"),
    CALCULATED: msg("calculated"),
    NO_END_FOUND: msg("no end found until then"),
    NOT_KNOWN: msg("no study"),
    EARLIER: msg("estimate"),
}
"""What a label or a sheet says in place of a class of evidence. Source: definition."""

FAT, BROWNING, COLOR, CRISPNESS = msg("fat"), msg("browning"), msg("color"), msg("crispness")
"""Names of the limits."""

LONGEST_WORD = 40


@dataclass(frozen=True)
class Limit:
    """One thing that ends the keeping.

    name: fat, browning, color or crispness
    low: pessimistic time [s]
    central: best estimate, infinite where no end was found [s]
    high: optimistic time, infinite likewise [s]
    basis: one sentence on where the times come from
    evidence: class of the evidence
    source: key in sources.toml
    mark: how the figures got here
    """

    name: str
    low: float
    central: float
    high: float
    basis: str
    evidence: str
    source: str
    mark: str


def evidence_word(evidence: str) -> str:
    """Return a class of evidence in a cook's word; what no class is called, such as a note by hand, cut short.

    evidence: class of the evidence, or a note

    >>> evidence_word(ESTIMATE), evidence_word("as written on the package")
    ('estimate', 'as written on the package')
    """
    if evidence in COOKS_WORDS:
        return COOKS_WORDS[evidence]
    return evidence if len(evidence) <= LONGEST_WORD else f"{evidence[: LONGEST_WORD - 1].rstrip()}…"


@cache
def quality_table() -> dict[str, Any]:
    """Return the table of what ends the good eating of stored food."""
    return tomllib.loads(files("drystow.keeping").joinpath("quality.toml").read_text(encoding="utf-8"))
