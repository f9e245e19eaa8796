"""How long a lot may wait before it is dried, and until when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from drystow.errors import InputError
from drystow.foods.model import Food
from drystow.planning.schedule.arrivals import window_of
from drystow.planning.schedule.cold_storage import DAY, LOOK, Window, verdict_on
from drystow.web.plans.local_time import kitchen_time, moment
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
    raw: it is, or may be, raw animal food
    over: the time in the refrigerator is over
    verdict: what to do with it then, empty before
    """

    fridge: str
    fridge_until: datetime
    freezer: str
    freezer_until: datetime | None
    own: bool
    raw: bool
    over: bool
    verdict: str


def waiting_of(lots: Sequence[Lot], foods: Mapping[str, Food]) -> list[Waiting]:
    """Return how long each lot may wait.

    lots: whose it is asked
    foods: by reference
    """
    now = timezone.now()
    return [_waiting(lot, foods[lot.food], now) for lot in lots]


@dataclass(frozen=True)
class Limits:
    """Until when a lot may be loaded.

    fridge: from the refrigerator
    freezer: from the freezer, None for what is not to be frozen
    verdict: on it past its limit, of `drystow.planning.schedule.cold_storage`
    """

    fridge: datetime
    freezer: datetime | None
    verdict: str

    def judged(self, frozen: bool, at: datetime) -> str:
        """Return the verdict on it when it is loaded at a moment, empty while it may be.

        frozen: from the freezer
        """
        until = self.freezer if frozen else self.fridge
        return "" if until is not None and at <= until else self.verdict


def limits_of(lot: Lot, food: Food) -> Limits:
    """Return until when a lot may be loaded; days are as long as the clock of the kitchen says.

    food: what it is
    """
    window, zone = _window(lot, food), timezone.get_current_timezone()
    came = kitchen_time(lot.arrives, zone)
    until = [moment(came + timedelta(seconds=span), zone) for span in (window.fridge, window.freezer)]
    return Limits(until[0], until[1] if window.freezer else None, verdict_on(food))


def time_words(days: float) -> str:
    """Return a time in hours, days or months, as one would say it.

    days: whole ones, or with a part
    """
    if days < 2 and days != int(days):
        hours = round(24 * days)
        return ngettext("{count} hour", "{count} hours", hours).format(count=hours)
    if days >= MONTHS:
        months = round(days / 30)
        return ngettext("{count} month", "{count} months", months).format(count=months)
    whole = round(days)
    return ngettext("{count} day", "{count} days", whole).format(count=whole)


def usual_words(food: Food) -> str:
    """Return how long a food may wait by public guidance, as one sentence.

    food: what it is
    """
    window = window_of(food, (None, None))
    values = {"fridge": time_words(window.fridge / DAY), "freezer": time_words(window.freezer / DAY)}
    if not window.freezer:
        return _("May wait {fridge} in the refrigerator; do not freeze (public food-safety guidance).").format_map(
            values
        )
    return _(
        "May wait {fridge} in the refrigerator, {freezer} in the freezer (public food-safety guidance)."
    ).format_map(values)


def _waiting(lot: Lot, food: Food, now: datetime) -> Waiting:
    own = (lot.fridge_days, lot.freezer_days)
    window, limits = _window(lot, food), limits_of(lot, food)
    over = limits.fridge < now and not lot.frozen
    return Waiting(
        fridge="" if lot.frozen else time_words(window.fridge / DAY),
        fridge_until=limits.fridge,
        freezer=time_words(window.freezer / DAY) if window.freezer else "",
        freezer_until=limits.freezer,
        own=own != (None, None),
        raw=food.may_be_raw,
        over=over,
        verdict=_verdict(limits, lot.frozen, now),
    )


def _verdict(limits: Limits, frozen: bool, now: datetime) -> str:
    """Return what to do with a lot that is past a limit, as one sentence; empty before."""
    look = limits.verdict == LOOK
    if not frozen and limits.fridge >= now:
        return ""
    if limits.judged(True, now):
        return _("Waited too long. Look at it and decide.") if look else _("Waited too long. Do not use it.")
    if frozen:
        return ""
    if look:
        return _("If it was not frozen by then, it waited too long. Look at it and decide.")
    return _("If it was not frozen by then, it waited too long. Do not use it.")


def _window(lot: Lot, food: Food) -> Window:
    fridge, freezer = (None if days is None else days * DAY for days in (lot.fridge_days, lot.freezer_days))
    try:
        return window_of(food, (fridge, freezer))
    except InputError:  # the food was marked raw after the time was written: the guidance counts
        return window_of(food, (None, freezer))
