"""What the proof shows of each tray: the answer, its evidence, what it should weigh, what to take care of."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from drystow.days import near
from drystow.drying.layer import target_moisture
from drystow.evidence.dryness.words import chance_words
from drystow.foods.model import Food
from drystow.keeping.food_code import can_grow, dryness_caution
from drystow.serving.cautions import TWO_HOURS, serving_cautions
from drystow.web.batches.adapters import wrappers_of
from drystow.web.batches.judged import Judged, TrayJudged
from drystow.web.batches.models import Batch, Load, Weighing
from drystow.web.foods.spec import foods_of
from drystow.web.kit.words import in_words


def dry_mass(parts: Iterable[tuple[Food, float, float]]) -> float:
    """Return what the food of a tray weighs at the wished moisture [kg].

    parts: food, fresh mass [kg] and wished moisture [-] of everything on it
    """
    return sum(fresh * food.composition.solids / (1.0 - target) for food, fresh, target in parts)


def net_g(weighing: Weighing) -> float:
    """Return the food's mass of a weighing [g]."""
    return float(weighing.gross_g - weighing.tare_g)


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


@dataclass(frozen=True)
class WeighingShown:
    """A weighing on the proof.

    row: as noted
    over_kg: above what the tray should weigh in the end
    """

    row: Weighing
    over_kg: float


@dataclass(frozen=True)
class TrayShown:
    """A tray on the proof.

    number: of the tray
    foods: their names
    dry_kg: what it should weigh in the end
    weighings: in order of time, without those that were corrected or struck out
    cautions: of raw animal food, each with its numbers
    judged: how dry it is, None while that is not known
    headline: the same in a few words
    keeping: what its water activity means
    germs: it may be moist enough for disease germs
    evidence: what each piece says, and how strongly
    """

    number: int
    foods: str
    dry_kg: float
    weighings: tuple[WeighingShown, ...]
    cautions: tuple[str, ...]
    judged: TrayJudged | None = None
    headline: str = ""
    keeping: str = ""
    germs: bool = False
    evidence: tuple[tuple[str, str], ...] = ()


def trays_view(batch: Batch, loads: list[Load], found: Judged | None) -> list[TrayShown]:
    """Return the trays of a batch.

    loads: from `tray_loads`
    found: how dry they are, None while that is not known
    """
    foods = foods_of(load.item.food for load in loads)
    weighed: defaultdict[int, list[Weighing]] = defaultdict(list)
    for row in Weighing.objects.standing().filter(batch=batch):
        weighed[row.tray].append(row)
    answers = {tray.number: tray for tray in found.trays} if found is not None else {}
    since = timezone.now() if batch.ended_at is None or found is None else found.at
    shown = []
    for number in sorted({load.tray for load in loads}):
        here = [load for load in loads if load.tray == number]
        kinds = [foods[load.item.food] for load in here]
        dry = dry_mass((food, load.mass_kg, _wished(load, food)) for load, food in zip(here, kinds, strict=True))
        wrapped = sum(wrappers_of(load.item, load.mass_kg) or 0.0 for load in here)
        cautions = [caution for food in kinds for caution in serving_cautions(food) if caution != TWO_HOURS]
        answer = answers.get(number)
        shown.append(
            TrayShown(
                number=number,
                foods=", ".join(load.item.name for load in here),
                dry_kg=dry,
                weighings=tuple(WeighingShown(row, net_g(row) / 1000.0 - wrapped - dry) for row in weighed[number]),
                cautions=tuple(dict.fromkeys(cautions)),
                judged=answer,
                headline=headline(answer, since) if answer else "",
                keeping=keeping_words(answer) if answer else "",
                germs=answer is not None and bool(can_grow(min(max((*answer.activity, *answer.wettest)), 1.0))),
                evidence=tuple((piece.words, strength(piece.pull)) for piece in answer.pieces) if answer else (),
            )
        )
    return shown


def _wished(load: Load, food: Food) -> float:
    wished = load.item.target_moisture
    return target_moisture(food) if wished is None else float(wished)
