"""The thickest piece cut open: what a person finds, and how often the check passes food that is not dry.

No published count of such checks was found; every chance here is common practice put into a number, and says so.
"""

import numpy as np

from drystow.evidence.dryness.courses import View, place
from drystow.evidence.dryness.observed import FINDINGS, CutPiece
from drystow.evidence.dryness.reading import GONE
from drystow.evidence.dryness.scatter import either, pieces_of, thinned
from drystow.evidence.dryness.weighings import Signal
from drystow.machine.layout import Tray
from drystow.messages import msg
from drystow.numerics import Array

THICKEST = 0.8  # chance that the piece is one of the thickest, not just any [-]; common practice
CARELESS = 0.15  # chance that a person's findings tell nothing, the same for all cuts of a tray [-]; common practice
MUCH_ICE = 0.1  # share of a piece's ice that nobody overlooks easily [-]; common practice

ICE = {"dry": 0.03, "cold": 0.30, "soft": 0.07, "ice": 0.60}
"""Chance of each finding in a piece with much ice [-]. Common practice, no published source."""
LITTLE_ICE = {"dry": 0.15, "cold": 0.45, "soft": 0.20, "ice": 0.20}
"""Chance of each finding in a piece with its last ice [-]. Common practice, no published source."""
WET = {"dry": 0.10, "cold": 0.08, "soft": 0.815, "ice": 0.005}
"""Chance of each finding in a piece without ice that is soft inside [-]. Common practice, no published source."""
CRISP = {"dry": 0.92, "cold": 0.05, "soft": 0.028, "ice": 0.002}
"""Chance of each finding in a crisp piece [-]. Common practice, no published source."""
NOTHING = {"dry": 0.55, "cold": 0.15, "soft": 0.20, "ice": 0.10}
"""Chance of each finding when it tells nothing [-]. Common practice, no published source."""

SOFT = 1.6  # monolayers of water above which a piece is soft inside [-]; drystow-default
SOFT_WIDTH = 0.3  # over which that fades, in monolayers [-]; drystow-default


def cut_signals(view: View, prior: tuple[Array, Array]) -> tuple[Signal, ...]:
    """Return what the pieces cut open say.

    view: of the tray
    prior: not needed
    Source: drystow-default, chances of the findings (common practice, no published source).
    """
    rows = thinned(sorted((row for row in view.evidence.cuts if row.tray == view.tray), key=lambda row: row.time))
    if not rows:
        return ()
    careful = sum((np.log(finding_chance(view, row)) for row in rows), np.zeros(len(view.runs.draws)))
    careless = np.full(len(careful), sum(np.log(NOTHING[row.finding]) for row in rows))
    loglik = either((1.0 - CARELESS, CARELESS), (careful, careless))
    return (Signal("cut", cut_words(rows[-1]), loglik, len(rows)),)


def finding_chance(view: View, row: CutPiece) -> Array:
    """Return how likely each member's tray gives a finding, whichever piece was cut (members,) [-].

    view: of the tray
    row: what was found
    Source: drystow-default, chances of the findings (common practice, no published source).
    """
    index = place(view, row)
    total: Array = np.zeros(len(view.runs.draws))
    for part, chance in pieces_of(view, THICKEST):
        left = 1.0 - view.runs.dried_fraction[:, index, part]
        layers = view.runs.moisture[:, index, part] / view.runs.trays[:, part, Tray.MONOLAYER]
        total = total + chance * piece_chance(row.finding, left, layers)
    return total


def piece_chance(finding: str, left: Array, layers: Array) -> Array:
    """Return how likely a cut piece gives a finding [-].

    finding: dry, cold, soft or ice
    left: share of the piece's ice that is left [-]
    layers: its water over the monolayer [-]
    Source: drystow-default, chances of the findings (common practice, no published source).

    >>> print(piece_chance("dry", np.array([0.5, 0.0]), np.array([9.0, 0.5])).round(2))
    [0.03 0.9 ]
    """
    much = np.clip(left / MUCH_ICE, 0.0, 1.0)
    icy = much * ICE[finding] + (1.0 - much) * LITTLE_ICE[finding]
    soft = 1.0 / (1.0 + np.exp(-np.clip((layers - SOFT) / SOFT_WIDTH, -30.0, 30.0)))
    bare = soft * WET[finding] + (1.0 - soft) * CRISP[finding]
    result: Array = np.where(left > 1.0 - GONE, icy, bare)
    return result


def passes_one_in(thick: float = 0.2) -> float:
    """Return how many trays, whose last ice lies in their thick pieces only, there are to one that is found dry [-].

    thick: share of the pieces that are thick [-]
    Source: drystow-default, chances of the findings (common practice, no published source).

    >>> print(round(passes_one_in()))
    3
    """
    hit = THICKEST + (1.0 - THICKEST) * thick
    careful = hit * LITTLE_ICE["dry"] + (1.0 - hit) * CRISP["dry"]
    return 1.0 / ((1.0 - CARELESS) * careful + CARELESS * NOTHING["dry"])


def cut_words(row: CutPiece) -> str:
    """Return what a cut shows, in a cook's words, with how often it errs.

    row: what was found
    """
    assert row.finding in FINDINGS
    if row.finding == "dry":
        return msg(
            "the thickest piece was dry inside when cut. About 1 in {count} trays with the last ice "
            "in thick pieces still passes, and it can't show a little extra moisture",
            count=round(passes_one_in()),
        )
    if row.finding == "cold":
        return msg("the thickest piece was cold inside when cut: ice is probably left")
    if row.finding == "soft":
        return msg("the thickest piece was soft inside when cut: moisture is left")
    return msg("the thickest piece had ice inside when cut: not dry")
