"""What the proof of a batch says of each of its foods, for the packing."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from drystow.web.batches.dryness_words import packing_risks
from drystow.web.batches.judged import Judged, TrayJudged, judged
from drystow.web.batches.models import Batch, Item, Judgement, Load


@dataclass(frozen=True)
class Proved:
    """What is known of one food of a batch.

    moisture: likely middle over its trays, wet basis [-]; None: nothing was seen of them
    risks: sentences on its trays that are not known to be dry
    """

    moisture: float | None = None
    risks: tuple[str, ...] = ()


def proved(batch: Batch, items: Iterable[Item]) -> dict[int, Proved]:
    """Return what was last worked out of every food, by its number; nothing of a batch that was never asked about.

    items: of the batch
    """
    row = Judgement.objects.filter(batch=batch).first()
    found = judged(row) if row is not None else None
    answers = {tray.number: tray for tray in found.trays} if found is not None else {}
    lying: defaultdict[int, list[Load]] = defaultdict(list)
    for load in Load.objects.kept().filter(item__batch=batch) if answers else ():
        lying[load.item_id].append(load)
    return {item.pk: _of(found, answers, lying[item.pk]) for item in items}


def _of(found: Judged | None, answers: dict[int, TrayJudged], loads: list[Load]) -> Proved:
    if found is None:
        return Proved()
    numbers = {load.tray for load in loads}
    seen = [load for load in loads if _told(answers.get(load.tray))]
    mass = sum(load.mass_kg for load in seen)
    whole = bool(seen) and len(seen) == len(loads) and mass > 0.0
    moisture = sum(load.mass_kg * answers[load.tray].moisture[1] for load in seen) / mass if whole else None
    return Proved(moisture, tuple(packing_risks(found, numbers)))


def _told(tray: TrayJudged | None) -> bool:
    return tray is not None and bool(tray.pieces) and tray.verdict != "contradiction"
