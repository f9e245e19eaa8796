"""Why the times are uncertain: how much of a range each cause brings."""

from dataclasses import dataclass

import numpy as np

from drystow.machine.ensemble import Members
from drystow.machine.sampling import PER_ITEM, SHARED, column
from drystow.messages import msg
from drystow.numerics import Array

FEWEST = 150
"""Members below which no shares are given. Source: drystow-default."""

WORTH_TELLING = 0.1  # share of the variance

WORDS = {
    "contact": msg("heat from shelf to food"),
    "refrigeration": msg("cooling power"),
    "vapour": msg("the vapor's way to the trap"),
    "air": msg("leaks and pump"),
    "shelf": msg("shelf thermometer"),
    "freezing": msg("freezing time"),
    "water": msg("water in the food"),
    "thickness": msg("thickness of the pieces"),
    "resistance": msg("how easily vapor passes the dried layer"),
    "conductivity": msg("how well the dried layer carries heat"),
    "desorption": msg("speed of the last drying"),
    "isotherm": msg("how the dried food holds moisture"),
    "position": msg("tray position"),
}
"""Each cause in a cook's words."""


@dataclass(frozen=True)
class Cause:
    """One cause of uncertainty.

    key: as in `draws.SHARED` or `draws.PER_ITEM`
    words: in a cook's words
    share: of the variance that it brings by itself [-]
    """

    key: str
    words: str
    share: float


def causes_of(runs: Members, times: Array, item: int | None = None) -> tuple[Cause, ...]:
    """Return the causes of a time's uncertainty, the largest first; empty with too few members.

    The share of a cause is its first-order effect: the part of the variance that a quadratic curve in the cause's own
    draws explains, lessened for the number of terms. Shares add up to about 1 when causes do not act together.

    runs: the members
    times: one time per member, NaN members are left out [s]
    item: only this tray item's own causes beside the shared ones; None: those of all items
    Source: saltelli2008, first-order sensitivity from given data.
    """
    good = np.isfinite(times)
    if good.sum() < FEWEST:
        return ()
    wanted: Array = times[good] - times[good].mean()
    total = float(wanted @ wanted)
    if total <= 0.0:
        return ()
    items = range(runs.moisture.shape[2]) if item is None else (item,)
    found = []
    for key in (*SHARED, *PER_ITEM):
        columns = [column(key)] if key in SHARED else [column(key, number) for number in items]
        drawn = runs.draws[good][:, columns]
        terms = np.concatenate([drawn, drawn**2 - 1.0], axis=1)
        terms = terms - terms.mean(axis=0)
        fit, *_rest = np.linalg.lstsq(terms, wanted, rcond=None)
        left = wanted - terms @ fit
        freedom = len(wanted) - 1
        share = 1.0 - float(left @ left) / total * freedom / max(freedom - terms.shape[1], 1)
        found.append(Cause(key, WORDS[key], max(share, 0.0)))
    return tuple(sorted(found, key=lambda cause: -cause.share))


def main_causes(runs: Members, times: Array, item: int | None = None) -> tuple[str, ...]:
    """Return the causes worth telling with their share, at most three.

    runs: the members
    times: one time per member [s]
    item: as in `causes_of`
    """
    worth = [cause for cause in causes_of(runs, times, item) if cause.share >= WORTH_TELLING][:3]
    return tuple(msg("{cause} ({share:.0f}%)", cause=cause.words, share=100.0 * cause.share) for cause in worth)
