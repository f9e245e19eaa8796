"""How long a lot may wait before it is dried, and until when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.planning.cold_storage import DAY
from drystow.planning.lots import window_of
from drystow.web.plans.models import Lot

SOURCES = ("cold-storage-chart", "produce-storage")
MONTHS = 60.0  # from here on months say enough [days]


@dataclass(frozen=True)
class Waiting:
    """How long a lot may wait.

    fridge: words for the time in the refrigerator, empty for a lot that comes frozen
    fridge_until: its end
    freezer: words for the time in the freezer, empty for what is not to be frozen
    freezer_until: its end
    own: a person wrote one of the times
    raw: raw animal food
    over: the time in the refrigerator is over
    """

    fridge: str
    fridge_until: datetime
    freezer: str
    freezer_until: datetime
    own: bool
    raw: bool
    over: bool


def waiting_of(lots: Sequence[Lot], foods: Mapping[str, Food]) -> list[Waiting]:
    """Return how long each lot may wait.

    lots: whose it is asked
    foods: by reference
    """
    now = timezone.now()
    return [_waiting(lot, foods[lot.food], now) for lot in lots]


def time_words(days: float) -> str:
    """Return a time in hours, days or months, as one would say it.

    days: whole ones, or with a part
    """
    if days < 2 and days != int(days):
        hours = round(24 * days)
        return ngettext("%(count)s hour", "%(count)s hours", hours) % {"count": hours}
    if days >= MONTHS:
        months = round(days / 30)
        return ngettext("%(count)s month", "%(count)s months", months) % {"count": months}
    whole = round(days)
    return ngettext("%(count)s day", "%(count)s days", whole) % {"count": whole}


def usual_words(food: Food) -> str:
    """Return how long a food may wait by public guidance, as one sentence.

    food: what it is
    """
    window = window_of(food, (None, None))
    values = {"fridge": time_words(window.fridge / DAY), "freezer": time_words(window.freezer / DAY)}
    if not window.freezer:
        return _("May wait %(fridge)s in the refrigerator; not to be frozen (public food-safety guidance).") % values
    return (
        _("May wait %(fridge)s in the refrigerator, %(freezer)s in the freezer (public food-safety guidance).") % values
    )


def _waiting(lot: Lot, food: Food, now: datetime) -> Waiting:
    own = (lot.fridge_days, lot.freezer_days)
    fridge, freezer = (None if days is None else days * DAY for days in own)
    try:
        window = window_of(food, (fridge, freezer))
    except InputError:  # the food was marked raw after the time was written: the guidance counts
        window = window_of(food, (None, freezer))
    until = lot.arrives + timedelta(seconds=window.fridge)
    return Waiting(
        fridge="" if lot.frozen else time_words(window.fridge / DAY),
        fridge_until=until,
        freezer=time_words(window.freezer / DAY) if window.freezer else "",
        freezer_until=lot.arrives + timedelta(seconds=window.freezer),
        own=own != (None, None),
        raw=food.raw_animal,
        over=until < now and not lot.frozen,
    )
