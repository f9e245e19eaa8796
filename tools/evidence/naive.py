"""The two rules that people go by today: constant weight, and cut a piece and look."""

import numpy as np

from drystow.evidence.dryness.observed import Evidence
from drystow.machine.layout import Tray
from tools.evidence.truth import SHARES, Course, Truth, at

AN_HOUR = 55 * 60.0
"""Least time between the two weighings that are compared [s]. Source: common practice, an hour apart."""

THICKEST = 0.6  # chance that the piece cut open is one of the thickest, else it is any piece; assumption
SEEN = ((0.03, 0.02), (0.01, 0.20), (0.0, 0.60))
"""Share of the piece's ice above which a core passes unseen with this chance. A false pass of 20% with a core of 1 to
3% is an assumption in the middle of what people tell; nobody is known to have measured it."""
SOFT, SOFT_MISSED = 0.08, 0.2  # moisture (wet basis) above which dry-looking food is soft, and how often it is missed


def constant_weight(evidence: Evidence, tray: int) -> bool | None:
    """Return whether the last two weighings an hour apart agree within the scale's step; None without two.

    evidence: what was seen
    tray: number from 1
    """
    rows = sorted((row for row in evidence.weighed if row.tray == tray), key=lambda row: row.time)
    earlier = [row for row in rows[:-1] if rows[-1].time - row.time >= AN_HOUR]
    if not earlier:
        return None
    lost = (earlier[-1].gross - earlier[-1].tare) - (rows[-1].gross - rows[-1].tare)
    return abs(lost) <= rows[-1].resolution * (1.0 + 1e-9)


def cut_and_look(
    truth: Truth, course: Course, items: tuple[int, ...], moment: float, random: np.random.Generator
) -> bool:
    """Return whether a piece of a tray that is cut open looks dry.

    truth: of the batch
    course: true course
    items: numbers of the tray's items
    moment: drying time [s]
    random: numbers
    """
    number = int(random.choice(items))
    mine = truth.item == number
    solids = truth.rows[mine, Tray.SOLIDS].reshape(len(SHARES), -1)
    ice = at(course, course.ice, moment)[mine].reshape(len(SHARES), -1).mean(axis=1)
    moisture = at(course, course.moisture, moment)[mine].reshape(len(SHARES), -1)
    wet = (moisture * solids).sum(axis=1) / solids.sum(axis=1)
    thickest = int(np.argmax(ice)) if ice.max() > 0.0 else int(np.argmax(wet))
    piece = thickest if random.random() < THICKEST else int(random.choice(len(SHARES), p=SHARES))
    for least, missed in SEEN:
        if ice[piece] > least:
            return bool(random.random() < missed)
    if wet[piece] / (1.0 + wet[piece]) > SOFT:
        return bool(random.random() < SOFT_MISSED)
    return True
