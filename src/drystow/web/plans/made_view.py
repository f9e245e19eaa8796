"""A plan as its page, its sheet and its calendar show it: what was kept, and the batches that it became."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from drystow.planning.schedule.cold_storage import verdict_words
from drystow.web.batches.models import Batch
from drystow.web.kit.words import sentence_again
from drystow.web.plans.waiting import Limits

FORM = 4
"""Counts up whenever a plan is kept in another form; plans of other forms are worked out again."""


@dataclass(frozen=True)
class LotShown:
    """Food of one lot in a batch, or left out.

    pk: number of the lot
    name: of the lot
    food: what it is
    trays: number of trays
    mass: fresh [kg]
    frozen: it waits in the freezer until then
    verdict: on food past its limit, ``do_not_use`` or ``look_and_decide``; else empty
    """

    pk: int
    name: str
    food: str
    trays: int
    mass: float
    frozen: bool = False
    verdict: str = ""

    @property
    def verdict_words(self) -> str:
        """Its verdict as it stands beside it."""
        return verdict_words(self.verdict) if self.verdict else ""


@dataclass(frozen=True)
class BatchShown:
    """One batch of a plan.

    number: in the order of loading, from 1
    key: dryer of the plan and moment of loading, to name it in a form
    row: number of the dryer in the plan
    dryer: its name
    start: when it is loaded
    dry: when it is dry
    end: when somebody unloads it
    places: trays of the dryer
    trays: that are used
    lots: what is in it
    batch: of the kitchen, None while it is only planned
    """

    number: int
    key: str
    row: int
    dryer: str
    start: datetime
    dry: datetime
    end: datetime
    places: int
    trays: int
    lots: tuple[LotShown, ...]
    batch: Batch | None

    @property
    def begun(self) -> bool:
        """It is running or over."""
        return self.batch is not None and self.batch.started_at is not None

    @property
    def over(self) -> bool:
        """It has ended."""
        return self.batch is not None and self.batch.ended_at is not None

    @property
    def names(self) -> tuple[str, ...]:
        """What is in it."""
        return tuple(lot.name for lot in self.lots)


@dataclass(frozen=True)
class LeftShown:
    """What is left out.

    lot: and how much of it
    reason: one sentence
    wished: all of it had to be dried
    """

    lot: LotShown
    reason: str
    wished: bool


@dataclass(frozen=True)
class PlanTask:
    """Something to do.

    kind: load or unload
    at: when
    batch: which one
    """

    kind: str
    at: datetime
    batch: BatchShown


@dataclass(frozen=True)
class PlanShown:
    """A plan.

    begin, end: first and last moment
    batches: in the order of loading
    left_out: food that is not dried
    saved, total: fresh food that is dried, and all of it [kg]
    saved_value, total_value: the same by its worth
    valued: lots differ in their worth, so that it says something
    more: how much more the best plan can save at most [-]
    compared: simple rule -> how much less it saves [-]
    to_freeze: lots of which a part goes into the freezer when it comes, with that moment
    cost: of the electricity of what is only planned
    wishes_met: all is dried whole that had to be
    shopping: what to buy: name and count
    cautions, notes: sentences
    """

    begin: datetime
    end: datetime
    batches: tuple[BatchShown, ...]
    left_out: tuple[LeftShown, ...]
    saved: float
    total: float
    saved_value: float
    total_value: float
    valued: bool
    more: float
    compared: Mapping[str, float]
    to_freeze: tuple[tuple[datetime, LotShown], ...]
    cost: float
    wishes_met: bool
    shopping: tuple[tuple[str, int], ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def share(self) -> int:
        """Part of the food that is dried, 100 only for all of it; of its worth where lots differ in that."""
        part, whole = (self.saved_value, self.total_value) if self.valued else (self.saved, self.total)
        return min(int(100 * part / whole + 1e-6), 99) if self.left_out and whole else 100

    @property
    def to_book(self) -> tuple[BatchShown, ...]:
        """Batches that are only planned."""
        return tuple(one for one in self.batches if one.batch is None)

    def next_step(self) -> PlanTask | None:
        """Return what is to be done next, None when nothing is."""
        steps = [PlanTask("unload", one.end, one) for one in self.batches if one.begun and not one.over]
        steps += [PlanTask("load", one.start, one) for one in self.batches if not one.begun]
        return min(steps, key=lambda step: step.at, default=None)


def plan_view(result: Mapping[str, Any], booked: Mapping[int, Batch], now: datetime) -> PlanShown | None:
    """Return a plan as it was kept, None when nothing was ever made.

    result: as it was kept
    booked: batches that came from the plan and are not in the bin, by their numbers
    now: nothing that has not begun is loaded before it
    """
    if result.get("form") != FORM or "saved_kg" not in result:
        return None
    saved, bound = result["saved_value"], result["bound"]
    limits = {int(pk): _limits(one) for pk, one in result["limits"].items()}
    batches = tuple(_batch(number, one, booked, limits, now) for number, one in enumerate(result["batches"], start=1))
    return PlanShown(
        begin=_at(result["begin"]),
        end=_at(result["end"]),
        batches=batches,
        to_freeze=tuple(_to_freeze(result, batches)),
        left_out=tuple(_left(one) for one in result["left_out"]),
        saved=result["saved_kg"],
        total=result["total_kg"],
        saved_value=result["saved_worth"],
        total_value=result["total_value"],
        valued=result["valued"],
        more=max(bound / saved - 1.0, 0.0) if saved > 0 else 0.0,
        compared={
            name: max(1.0 - value / saved, 0.0) if saved > 0 else 0.0 for name, value in result["compared"].items()
        },
        cost=sum(one["electricity_cost"] for one in result["batches"] if one["batch"] not in booked),
        wishes_met=result["wishes_met"],
        shopping=tuple((sentence_again(one["name"]), one["count"]) for one in result["shopping"]),
        cautions=sentences(result["cautions"]),
        notes=sentences(result["notes"]),
    )


def sentences(rows: Iterable[dict[str, Any]]) -> tuple[str, ...]:
    """Return several of them."""
    return tuple(sentence_again(row) for row in rows)


def _limits(one: Mapping[str, Any]) -> Limits:
    return Limits(_at(one["fridge"]), None if one["freezer"] is None else _at(one["freezer"]), one["verdict"])


def _batch(
    number: int, one: Mapping[str, Any], booked: Mapping[int, Batch], limits: Mapping[int, Limits], now: datetime
) -> BatchShown:
    """Return a batch; what has happened already stands in its place of what was planned."""
    batch = booked.get(one["batch"]) if one["batch"] else None
    start, dry, end = (_at(one[name]) for name in ("start", "dry", "end"))
    begun = batch is not None and batch.started_at is not None
    if batch is not None and batch.started_at is not None:
        start = batch.started_at
        end = max(end if batch.ended_at is None else batch.ended_at, start)
        dry = min(max(dry, start), end)
    return BatchShown(
        number=number,
        key=f"{one['row']}@{one['start']}",
        row=one["row"],
        dryer=one["dryer"],
        start=start,
        dry=dry,
        end=end,
        places=one["places"],
        trays=one["trays"],
        lots=tuple(
            LotShown(
                pk=lot["pk"],
                name=lot["lot"],
                food=lot["food"],
                trays=lot["trays"],
                mass=lot["mass_kg"],
                frozen=lot["frozen"],
                verdict=lot["verdict"] or ("" if begun else limits[lot["pk"]].judged(lot["frozen"], max(start, now))),
            )
            for lot in one["lots"]
        ),
        batch=batch,
    )


def _left(one: Mapping[str, Any]) -> LeftShown:
    lot = LotShown(one["pk"], one["lot"], "", one["trays"], one["mass_kg"])
    return LeftShown(lot, sentence_again(one["reason"]), one["wished"])


def _to_freeze(result: Mapping[str, Any], batches: Iterable[BatchShown]) -> list[tuple[datetime, LotShown]]:
    """Return what goes into the freezer when it comes, all of a lot together; not what has left it already."""
    found: dict[int, LotShown] = {}
    for one in (lot for batch in batches if not batch.begun for lot in batch.lots):
        if one.frozen and not one.verdict and one.pk not in result["came_frozen"]:
            had = found.get(one.pk)
            found[one.pk] = one if had is None else replace(one, mass=one.mass + had.mass, trays=one.trays + had.trays)
    arrivals = result["arrivals"]
    return sorted(((_at(arrivals[str(pk)]), lot) for pk, lot in found.items()), key=lambda pair: (pair[0], pair[1].pk))


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)
