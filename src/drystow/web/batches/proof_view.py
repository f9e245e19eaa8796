"""What the proof shows of each tray: the answer, its evidence, what it should weigh, what to take care of."""

from collections import defaultdict
from dataclasses import dataclass

from django.utils import timezone

from drystow.drying.layer import target_moisture
from drystow.foods.model import Food
from drystow.keeping.food_code import can_grow
from drystow.serving.cautions import TWO_HOURS, serving_cautions
from drystow.web.batches.dryness_words import headline, keeping_words, strength
from drystow.web.batches.judged import Judged, TrayJudged
from drystow.web.batches.models import Batch, Load, Weighing
from drystow.web.batches.solids import dry_mass, net_g
from drystow.web.foods.spec import foods_of


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
        cautions = [caution for food in kinds for caution in serving_cautions(food) if caution != TWO_HOURS]
        answer = answers.get(number)
        shown.append(
            TrayShown(
                number=number,
                foods=", ".join(load.item.name for load in here),
                dry_kg=dry,
                weighings=tuple(WeighingShown(row, net_g(row) / 1000.0 - dry) for row in weighed[number]),
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
    return target_moisture(food.food_class) if wished is None else float(wished)
