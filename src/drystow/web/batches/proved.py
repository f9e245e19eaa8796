"""What the proof of a batch says of each of its foods for the packing, and what is packed all the same."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from drystow.evidence.dryness.words import chance_words
from drystow.messages import msg
from drystow.web.batches.judged import Judged, TrayJudged
from drystow.web.batches.judging import JudgementState, answer_state
from drystow.web.batches.models import Batch, Item, Load, Unproved
from drystow.web.kit import records
from drystow.web.kit.words import in_words, sentence_again, sentence_json


@dataclass(frozen=True)
class Risk:
    """A food on a tray that is not known to be dry.

    item: number of the food's item
    tray: that it lies on, None: on none
    chance: that the tray is dry, None: nobody knows [-]
    found: what was found in the tray's worst piece
    words: the same in a sentence
    judged: somebody asked already how dry the tray is
    """

    item: int
    tray: int | None
    chance: float | None
    found: str
    words: str
    judged: bool = True


@dataclass(frozen=True)
class Proved:
    """What is known of one food of a batch.

    moisture: likely middle over its trays, wet basis [-]; None: nothing was seen of them
    risks: its trays that are not known to be dry
    confirmed: somebody confirmed all of them already
    packed: a sentence for every tray that was packed without being known to be dry
    """

    moisture: float | None = None
    risks: tuple[Risk, ...] = ()
    confirmed: bool = False
    packed: tuple[str, ...] = ()


def proved(batch: Batch, items: Iterable[Item], loads: list[Load]) -> dict[int, Proved]:
    """Return what is known now of every food, by the number of its item.

    items: of the batch
    loads: from `tray_loads`
    """
    known = answer_state(batch, loads)
    last = None if known.last is None else known.last.result
    answers = {tray.number: tray for tray in last.trays} if last is not None else {}
    standing = _standing(batch)
    lying: defaultdict[int, list[Load]] = defaultdict(list)
    for load in loads:
        lying[load.item_id].append(load)
    told = {}
    for item in items:
        risks = tuple(_risks(item, lying[item.pk], answers, known))
        covered = all(_same(row, risk) for risk in risks for row in [_row(standing, risk)])
        done = tuple(confirmed_words(row) for row in standing if row.item_id == item.pk and row.packed)
        told[item.pk] = Proved(_moisture(lying[item.pk], answers), risks, bool(risks) and covered, done)
    return told


def risks_of(known: JudgementState, found: Judged | None, loads: list[Load]) -> list[Risk]:
    """Return what speaks against packing now.

    known: of the batch
    found: the same for a page
    loads: from `tray_loads`
    """
    answers = {tray.number: tray for tray in found.trays} if found is not None else {}
    return [risk for load in loads for risk in _risks(load.item, [load], answers, known)]


def risk_sentences(risks: Iterable[Risk]) -> list[str]:
    """Return what speaks against packing, a sentence each; trays that nobody judged yet share one."""
    risks = list(risks)
    open_trays = sorted({risk.tray for risk in risks if not risk.judged and risk.tray is not None})
    if len(open_trays) < 2:
        return [risk.words for risk in risks]
    together = _("Trays {numbers}: no one has judged how dry they are.")
    return [together.format(numbers=", ".join(map(str, open_trays))), *(risk.words for risk in risks if risk.judged)]


def confirm(batch: Batch, risks: Iterable[Risk], *, packed: bool, who: str) -> None:
    """Write into the batch that somebody packs trays, or takes them on to packing, without knowing that they are dry.

    packed: they are packed now
    """
    standing = _standing(batch)
    words = (
        msg("packed without knowing that it was dry")
        if packed
        else msg("moved on to packing without knowing that it was dry")
    )
    for risk in risks:
        row = _row(standing, risk)
        if row is not None and _same(row, risk):
            if packed and not row.packed:
                records.change(row, {"packed": True}, expected=row.version, who=who, words=words)
            continue
        made = Unproved(batch=batch, item_id=risk.item, tray=risk.tray, chance=risk.chance, packed=packed, who=who[:80])
        made.found = sentence_json(risk.found) if risk.found else {}
        records.create(made, who=who, words=words)


def taken_back(batch: Batch, item: Item, *, who: str) -> None:
    """Put what was confirmed for packing an item in the bin, since it is packed anew."""
    for row in Unproved.objects.kept().filter(batch=batch, item=item):
        records.put_in_bin(row, who=who, words=msg("packing undone"))


def packed_unproved(batch: Batch) -> dict[int, list[str]]:
    """Return a sentence for every tray that was packed without being known to be dry, by the number of its item."""
    told: defaultdict[int, list[str]] = defaultdict(list)
    for row in _standing(batch):
        if row.packed:
            told[row.item_id].append(confirmed_words(row))
    return told


def confirmed_words(row: Unproved) -> str:
    """Return what somebody confirmed, in the reader's language."""
    values = {"place": _place(row.tray, row.item.name)}
    if row.chance is None:
        said = _("{place}: packed without knowing that it was dry; no one knew the chance.").format_map(values)
    else:
        values["chance"] = in_words(chance_words(row.chance))
        said = _("{place}: packed without knowing that it was dry; the chance was {chance}.").format_map(values)
    parts = [said, _found_words(sentence_again(row.found)) if row.found else ""]
    parts.append(_("Confirmed by {who}.").format(who=row.who) if row.who else "")
    return " ".join(filter(None, parts))


def _standing(batch: Batch) -> list[Unproved]:
    return list(Unproved.objects.kept().filter(batch=batch).select_related("item"))


def _risks(item: Item, loads: list[Load], answers: dict[int, TrayJudged], known: JudgementState) -> Iterable[Risk]:
    if not loads:
        words = _("{food}: on no tray, so no one knows how dry it is.").format(food=item.name)
        yield Risk(item.pk, None, None, "", words)
    for number in sorted({load.tray for load in loads}):
        answer, place = answers.get(number), _place(number, item.name)
        if answer is None:
            words = _("{place}: no one has judged how dry it is.").format(place=place)
            yield Risk(item.pk, number, None, "", words, judged=False)
        elif not known.current:
            words = _("{place}: the chance that it is dry was {chance} when last calculated, and that is out of date.")
            words = words.format(place=place, chance=in_words(chance_words(answer.chance)))
            yield Risk(item.pk, number, None, answer.wet_piece, words)
        elif answer.verdict != "dry":
            chance = in_words(chance_words(answer.chance))
            words = _("{place}: the chance that it is dry is {chance}.").format(place=place, chance=chance)
            told = " ".join(filter(None, (words, _found_words(answer.wet_piece))))
            yield Risk(item.pk, number, answer.chance, answer.wet_piece, told)


def _place(tray: int | None, food: str) -> str:
    return food if tray is None else _("Tray {number} ({food})").format(number=tray, food=food)


def _found_words(found: str) -> str:
    return _("Found: {found}.").format(found=in_words(found)) if found else ""


def _row(standing: Iterable[Unproved], risk: Risk) -> Unproved | None:
    """Return what was last confirmed of the same food on the same tray."""
    mine = [row for row in standing if (row.item_id, row.tray) == (risk.item, risk.tray)]
    return max(mine, key=lambda row: row.pk, default=None)


def _same(row: Unproved | None, risk: Risk) -> bool:
    """Return whether this is what was confirmed: another answer has to be confirmed again."""
    found = sentence_json(risk.found) if risk.found else {}
    return row is not None and row.chance == risk.chance and row.found == found


def _moisture(loads: list[Load], answers: dict[int, TrayJudged]) -> float | None:
    seen = [load for load in loads if _told(answers.get(load.tray))]
    mass = sum(load.mass_kg for load in seen)
    if not seen or len(seen) < len(loads) or mass <= 0.0:
        return None
    return sum(load.mass_kg * answers[load.tray].moisture[1] for load in seen) / mass


def _told(tray: TrayJudged | None) -> bool:
    return tray is not None and bool(tray.pieces) and tray.verdict != "contradiction"
