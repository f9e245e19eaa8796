"""The worst piece of a tray: one that was found cold, icy, soft or above its limit keeps it from being called dry."""

import numpy as np

from drystow.constants import NO_GROWTH
from drystow.evidence.dryness.courses import View, wettest_of
from drystow.evidence.dryness.observed import ActivityReading, OvenSample, seen_at
from drystow.evidence.dryness.probe import AT_THE_SHELF, COLD
from drystow.evidence.dryness.samples import ISOTHERM_ERROR, other_isotherm
from drystow.evidence.dryness.weighings import AN_HOUR
from drystow.machine.layout import Tray
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.sorption import _gab_water_activity

TWICE = 2.0  # standard deviations of meter and isotherm that a reading may lie above its limit by chance [-]

FOUND = {
    "cold": msg("the thickest piece was cold inside when it was cut"),
    "soft": msg("the thickest piece was soft inside when it was cut"),
    "ice": msg("there was ice in the thickest piece when it was cut"),
}


def worst_piece(view: View) -> str:
    """Return what was found in the tray's worst piece that speaks against dry, empty when nothing was.

    view: of the tray
    A cold, soft or icy core stands until a piece is cut open dry after an hour more of drying, a cold probe also until
    it is warm; a sample above its limit stands until one after an hour more of drying is within it.
    """
    return _core(view) or _sample(view)


def wettest_activity(view: View, index: int, seed: int) -> Array:
    """Return water activities at 25 °C of each member's wettest class of pieces (members,) [-].

    view: of the tray
    index: of the sample time
    seed: of the random numbers
    Source: gab, inverse with the drawn monolayer; drystow-default for the error of the odds.
    """
    columns = [part for parts in view.parts for part in parts]
    trays = view.runs.trays[:, columns]
    activity = _gab_water_activity(
        wettest_of(view, index), trays[:, :, Tray.MONOLAYER], trays[:, :, Tray.GAB_C], trays[:, :, Tray.GAB_K]
    )
    return other_isotherm(np.minimum(activity, 1.0).max(axis=1), index, seed)


def _core(view: View) -> str:
    cuts = [row for row in view.evidence.cuts if row.tray == view.tray]
    cleared = max((seen_at(view.clock, row) for row in cuts if row.finding == "dry"), default=-np.inf)
    wet = [row for row in cuts if row.finding != "dry" and cleared - seen_at(view.clock, row) < AN_HOUR]
    if wet:
        last = max(wet, key=lambda row: (row.time, list(FOUND).index(row.finding)))
        return FOUND[last.finding]
    probe = max((row for row in view.evidence.probes if row.tray == view.tray), key=lambda row: row.time, default=None)
    if probe is None or probe.product >= COLD or probe.shelf - probe.product <= AT_THE_SHELF:
        return ""
    gone = cleared - seen_at(view.clock, probe) >= AN_HOUR
    return "" if gone else msg("the probe in a piece is still cold, so there is ice left")


def _sample(view: View) -> str:
    seen: tuple[OvenSample | ActivityReading, ...] = (*view.evidence.samples, *view.evidence.activities)
    samples = [row for row in seen if row.tray == view.tray]
    within = max((seen_at(view.clock, row) for row in samples if not _above(view, row)), default=-np.inf)
    wet = [row for row in samples if _above(view, row) and within - seen_at(view.clock, row) < AN_HOUR]
    if not wet:
        return ""
    last = max(wet, key=lambda row: row.time)
    if isinstance(last, OvenSample):
        return msg(
            "a sample held {share:.1%} moisture, above its limit of {limit:.1%}", share=_lost(last), limit=_limit(view)
        )
    return msg("a sample showed a water activity of {activity:.2f}, too high for its limit", activity=last.activity)


def _above(view: View, row: OvenSample | ActivityReading) -> bool:
    if isinstance(row, OvenSample):
        return _lost(row) - row.resolution / row.before > _limit(view)
    return row.activity >= NO_GROWTH or row.activity - TWICE * row.error > _activity_limit(view)


def _lost(row: OvenSample) -> float:
    return (row.before - row.after) / row.before


def _limit(view: View) -> float:
    """Return the moisture that no piece may pass: of several foods on a tray the strictest wish [-]."""
    return min(view.load.items[number].target for number in view.items)


def _activity_limit(view: View) -> float:
    """Return the highest water activity that may go with that moisture [-]."""
    limit = _limit(view) / (1.0 - _limit(view))
    kinds = [view.load.items[number].isotherm for number in view.items]
    activity = max(float(_gab_water_activity(limit, kind.monolayer, kind.c, kind.k)) for kind in kinds)
    odds = activity / (1.0 - min(activity, 1.0 - 1e-9)) * float(np.exp(TWICE * ISOTHERM_ERROR))
    return odds / (1.0 + odds)
