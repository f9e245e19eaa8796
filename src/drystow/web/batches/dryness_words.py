"""How dry a tray is, in the words of a page: a headline, how strong each piece of evidence is, what it means."""

from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.days import near
from drystow.evidence.dryness.words import chance_words
from drystow.keeping.food_code import dryness_caution
from drystow.web.batches.judged import TrayJudged
from drystow.web.kit.words import in_words

SLIGHT, CLEAR, STRONG = 0.15, 0.5, 1.3
"""Powers of ten by which the odds move, from which evidence counts as such. Source: drystow-default."""

STRENGTHS = (
    (STRONG, lazy("strong sign it’s dry"), lazy("strong sign it’s not dry")),
    (CLEAR, lazy("clear sign it’s dry"), lazy("clear sign it’s not dry")),
    (SLIGHT, lazy("slight sign it’s dry"), lazy("slight sign it’s not dry")),
)


def headline(tray: TrayJudged, since: datetime) -> str:
    """Return the verdict on a tray in a few words.

    since: moment from which further drying counts
    """
    number = {"number": tray.number}
    if tray.verdict == "dry":
        return _("Tray {number} is dry: chance {chance}").format_map(
            number | {"chance": in_words(chance_words(tray.chance))}
        )
    if tray.verdict == "contradiction":
        return _("Tray {number}: the numbers don’t fit together").format_map(number)
    if tray.verdict == "not_enough_evidence":
        told = number | {"time": clock_words(tray.weigh)}
        if tray.weigh is None:
            return _("Tray {number}: can’t tell yet").format_map(number)
        if tray.weigh <= timezone.now():
            return _("Tray {number}: can’t tell yet; weigh it now").format_map(told)
        return _("Tray {number}: can’t tell yet; weighing it {time} helps most").format_map(told)
    if tray.verdict == "not_dry" and tray.wet_piece:
        return _("Tray {number} is not dry: a piece was found wet or cold").format_map(number)
    half, most = (None if moment is None else max(moment - since, timedelta()) for moment in tray.ready)
    if half is None:
        return _("Tray {number}: won’t get dry at this shelf setting").format_map(number)
    if most is None:
        return _("Tray {number}, not dry yet: about {low} more, maybe much longer").format_map(
            number | {"low": _span(half)}
        )
    if most < timedelta(minutes=30):
        return _("Tray {number}: nearly dry; weigh it once more").format_map(number)
    low, high = _span(half), _span(most)
    if low == high:
        return _("Tray {number}, not dry yet: about {low} more").format_map(number | {"low": low})
    return _("Tray {number}, not dry yet: about {low} to {high} more").format_map(number | {"low": low, "high": high})


def strength(pull: float) -> str:
    """Return how strongly a piece of evidence speaks.

    pull: powers of ten by which it moves the odds towards dry [-]
    """
    for least, towards, against in STRENGTHS:
        if abs(pull) >= least:
            return str(towards if pull > 0 else against)
    return _("says little")


def keeping_words(tray: TrayJudged) -> str:
    """Return what the water activity of a tray means for keeping: by the high end of its wettest pieces, and that it
    keeps only when the tray is dry by the verdict and no piece was found wet.
    """
    caution = dryness_caution(min(max(*tray.activity, *tray.wettest), 1.0))
    if caution:
        return _("In the wettest case: {caution}").format(caution=in_words(caution))
    if tray.verdict != "dry" or tray.wet_piece:
        return _("This is the average. The worst piece decides whether it keeps, and no one knows yet that it is dry.")
    return _("Below 0.60, neither germs nor mold grow. It keeps as long as the package keeps moisture out.")


def clock_words(moment: datetime | None) -> str:
    """Return a moment as one says it: today or tomorrow, or the weekday, with the time of day."""
    if moment is None:
        return ""
    here, now = (timezone.localtime(one).replace(tzinfo=None) for one in (moment, timezone.now()))
    return in_words(near(here, now))


def _span(span: timedelta) -> str:
    hours = span.total_seconds() / 3600.0
    if hours < 0.75:
        return _("half an hour")
    return _("{hours} h").format(hours=round(hours))
