"""How long a package keeps: the first limit reached, never without the evidence behind it."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import inf, isfinite

from drystow.constants import NO_GROWTH
from drystow.errors import InputError
from drystow.foods.kinds import class_row, is_a
from drystow.foods.marks import raw_cautions
from drystow.foods.model import Food
from drystow.keeping.browning import browning
from drystow.keeping.color import ANTHOCYANIN, CHLOROPHYLL, NOT_BLANCHED, RED_HOLDS, fading, pigment
from drystow.keeping.fat import fat_quality, rancidity
from drystow.keeping.food_code import dryness_caution
from drystow.keeping.limits import (
    BROWNING,
    COLOR,
    CRISPNESS,
    ESTIMATE,
    FAT,
    NO_END_FOUND,
    NOT_KNOWN,
    Limit,
    evidence_word,
    quality_table,
)
from drystow.keeping.practice import practice_years
from drystow.keeping.studies import ALL, TITLES, Bound, bounds_of
from drystow.keeping.survival import NO_KILL_STEP
from drystow.keeping.texture import crispness
from drystow.keeping.vitamins import VitaminLeft, vitamins_left
from drystow.messages import ends, msg
from drystow.packing.containers import materials
from drystow.packing.oxygen import absorbers_for
from drystow.packing.plan import PackPlan, describe_time
from drystow.packing.seasons import DAY, YEAR, StoreSeason, describe, mean_temperature
from drystow.properties.glass import stickiness

LONGEST = 25 * YEAR
"""No longer life is claimed [s]. Source: byu-11075."""

CAP_SENTENCE = msg("No published study supports keeping times of 25 years or more, so none is claimed here.")

LIMIT, AT_LEAST, UNKNOWN = "limit", "at least", "not known"
"""What times are: a range to the first limit, a time in which a study found no end, a day to check."""

ENDINGS: dict[str, str] = {
    FAT: msg("before its fat turns rancid"),
    BROWNING: msg("before it browns"),
    COLOR: msg("before its color fades"),
    CRISPNESS: msg("before it softens or clumps"),
}
"""What ends the keeping in a cook's words, by the name of the limit. Source: definition."""


@dataclass(frozen=True)
class KeepingResult:
    """How long a package keeps.

    limit: name of the limit that may come first, empty where none is known
    verdict: `LIMIT`, `AT_LEAST` or `UNKNOWN`
    keeps: dry enough to keep, and longer than a day; without it there is no best-before date
    low: pessimistic time to the first limit; at least so long; or when to check it [s]
    central: best estimate of it, infinite but for a limit [s]
    high: optimistic time, infinite but for a limit [s]
    evidence: class of the evidence
    limits: every limit, the one that may come first at the head
    bound: what a study says that found no end, None without one
    practice: years that are common practice, low and high
    vitamins: what is known of vitamins at the low end
    notes: sentences on ranges and assumptions
    cautions: sentences on safety
    sources: keys in sources.toml
    """

    limit: str
    verdict: str
    keeps: bool
    low: float
    central: float
    high: float
    evidence: str
    limits: tuple[Limit, ...]
    bound: Bound | None
    practice: tuple[float, float]
    vitamins: tuple[VitaminLeft, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def days(self) -> tuple[int, int | None, int | None]:
        """Return low, central and high in whole days, None where no end is known. Source: definition."""
        central, high = (int(time / DAY) if isfinite(time) else None for time in (self.central, self.high))
        return int(self.low / DAY), central, high

    @property
    def text(self) -> str:
        """Return the claim in one sentence, with its evidence in a word. Source: definition."""
        low, _, high = self.days
        if self.verdict == UNKNOWN:
            return msg(
                "not known; common practice is {low:g} to {high:g} years, so check it after {time}",
                low=self.practice[0],
                high=self.practice[1],
                time=describe_time(self.low),
            )
        return claim(low, high, self.limit, self.evidence)


def claim(low: int, high: int | None, limit: str, evidence: str) -> str:
    """Return how long food keeps in one sentence, with its evidence in a word.

    low: least time in days
    high: most in days, None where no end is known
    limit: name of what ends it
    evidence: class of the evidence
    Source: definition.
    """
    least = describe_time(low * DAY)
    if high is None:
        if evidence == NOT_KNOWN:
            return msg("not known, so check it after {time}", time=least)
        if evidence == NO_END_FOUND:
            return msg("at least {time}; a storage study of such food found no end", time=least)
        return msg("at least {time} ({evidence})", time=least, evidence=evidence_word(evidence))
    most, word = describe_time(high * DAY), evidence_word(evidence)
    ending = ENDINGS.get(limit) or msg("before {limit} suffers", limit=limit)
    if least == most:
        return msg("{time} {ending} ({evidence})", time=least, ending=ending, evidence=word)
    least, most = ends(least, most)
    return msg("{low} to {high} {ending} ({evidence})", low=least, high=most, ending=ending, evidence=word)


def shelf_life(plan: PackPlan) -> KeepingResult:
    """Return how long a package keeps in its store.

    The first limit decides. Where a study of such food found no end for longer, that bound takes the place of
    estimates, not of what the package lets in. Where no such food was studied for what comes first, no year is named:
    there is a day to check it, at most a year ahead.

    plan: of the package
    """
    bounds, food = bounds_of(plan), plan.pack.food
    found = [limit for limit in (rancidity(plan), fading(plan), browning(plan), crispness(plan)) if limit]
    lifted = [_lifted(limit, bounds) for limit in found]
    limits = tuple(sorted(lifted, key=lambda limit: (limit.low, limit.central)))
    first, (package,) = limits[0], [limit for limit in limits if limit.name == CRISPNESS]
    whole = next((bound for bound in bounds if bound.ends == ALL), None)
    bound = whole or next((bound for bound in bounds if bound.ends == first.name), None)
    ending = limits
    if whole is not None and whole.time >= first.low:
        first, ending = package, (package,)
        verdict = LIMIT if package.low <= whole.time else AT_LEAST
    else:
        verdict = _verdict(first, food)
    low, central, high = (
        min(min(getattr(limit, name) for limit in ending), LONGEST) for name in ("low", "central", "high")
    )
    limit, evidence = first.name, first.evidence
    if verdict == AT_LEAST:
        central, high, limit = inf, inf, ""
        if ending != limits and whole is not None:
            low, evidence = min(whole.time, LONGEST), NO_END_FOUND
    elif verdict == UNKNOWN:
        low, central, high, evidence = min(first.low, quality_table()["check"]["years"] * YEAR), inf, inf, NOT_KNOWN
    vitamins = vitamins_left(food, low, mean_temperature(plan.pack.seasons))
    result = KeepingResult(
        limit=limit,
        verdict=verdict,
        keeps=plan.water_activity < NO_GROWTH and low >= DAY,
        low=low,
        central=central,
        high=high,
        evidence=evidence,
        limits=limits,
        bound=bound,
        practice=practice_years(food),
        vitamins=vitamins,
        notes=(),
        cautions=_cautions(plan),
        sources=tuple(
            dict.fromkeys(
                (*(one.source for one in limits), *(one.source for one in bounds), *(one.source for one in vitamins))
            )
        ),
    )
    return replace(result, notes=_notes(plan, result))


def _verdict(first: Limit, food: Food) -> str:
    """Return what the time to the first limit is; that a package never lets anything in tells nothing of the food."""
    if (first.low >= LONGEST and first.name == CRISPNESS) or not _studied(first, food):
        return UNKNOWN
    return LIMIT if first.low < LONGEST else AT_LEAST


def _studied(limit: Limit, food: Food) -> bool:
    """Return whether what may come first was studied in such food, or follows from the package alone."""
    if limit.evidence != ESTIMATE:
        return True
    if limit.name == FAT and fat_quality(food).fat > class_row(food.food_class)["fat"].get("studied_to", 1.0):
        return False
    return limit.name in class_row(food.food_class)["studied"]


def _lifted(limit: Limit, bounds: tuple[Bound, ...]) -> Limit:
    """Return a limit that comes no earlier than a study of such food lasted which did not find it."""
    bound = next((bound for bound in bounds if bound.ends == limit.name and bound.time > limit.low), None)
    if bound is None:
        return limit
    high = limit.high if limit.high > bound.time else inf  # the study has refuted the estimate
    return replace(limit, low=bound.time, central=max(limit.central, bound.time), high=high, evidence=NO_END_FOUND)


def _notes(plan: PackPlan, result: KeepingResult) -> tuple[str, ...]:
    pack = plan.pack
    notes: list[str] = [
        msg(
            "For a place at {store}. The best-before date uses the shorter time.",
            store=describe(pack.seasons),
        )
    ]
    if result.bound is not None:
        notes.append(msg("Behind it stands the {study}, which found no end.", study=TITLES[result.bound.study]))
    if any(isfinite(limit.high) and limit.high > LONGEST for limit in result.limits) or result.low >= LONGEST:
        notes.append(CAP_SENTENCE)
    if result.limit == CRISPNESS and result.low == 0:
        notes.append(msg("The food is already too moist to be crisp."))
    if result.limit == COLOR:
        notes.append(msg("Faded food is still food: its taste lasts longer than its color."))
    notes += _color_notes(plan)
    low, high = result.practice
    notes.append(msg("Common practice for such food is {low:g} to {high:g} years.", low=low, high=high))
    critical = quality_table()["crispness"]["activity"][-1]
    if not (plan.isotherm.low <= plan.water_activity and critical <= plan.isotherm.high):
        notes.append(
            msg(
                "The food's moisture is known for water activities of {low:g} to {high:g}; {packed:.2f} "
                "to {critical:g} is beyond that.",
                low=plan.isotherm.low,
                high=plan.isotherm.high,
                packed=plan.water_activity,
                critical=critical,
            )
        )
    if sticky := _stickiness(plan):
        notes.append(sticky)
    return (*notes, *(one.text for one in result.vitamins))


def _color_notes(plan: PackPlan) -> tuple[str, ...]:
    food = plan.pack.food
    name = pigment(food)
    if name == ANTHOCYANIN:
        return (RED_HOLDS,)
    raw = is_a(food.food_class, "blanched") and not {"cooked", "prepared"} & set(food.like)
    return (NOT_BLANCHED,) if name == CHLOROPHYLL and raw else ()


def _stickiness(plan: PackPlan) -> str:
    pack = plan.pack
    warmest = max(season.temperature for season in pack.seasons)
    try:
        found = stickiness(pack.food.composition, pack.food.food_class, pack.residual_moisture, warmest, pack.food.like)
    except InputError:  # neither carbohydrate nor protein: nothing that could turn sticky
        return ""
    if found.verdict == "crisp":
        return ""
    return msg("{sticky} Powder cakes.", sticky=found.text) if pack.powder else found.text


def _cautions(plan: PackPlan) -> tuple[str, ...]:
    cautions = [sentence] if (sentence := dryness_caution(plan.water_activity)) else []
    return (*cautions, *raw_cautions(plan.pack.food.raw_animal, (NO_KILL_STEP,)))


RECLOSED = "ldpe-bag"
"""Wall that an opened package is reckoned with: it holds no better than a zip freezer bag. Source: drystow-default."""


@dataclass(frozen=True)
class Keeps:
    """How long one package keeps.

    since: day of packing, or of opening once it is open
    best_before: day until which it should be good, or by which to check it where that is not known
    latest: day until which it may be good, None where only the first day is known
    limit: name of what may end it first, empty likewise
    evidence: class of the evidence, or a note by hand
    """

    since: date
    best_before: date
    latest: date | None
    limit: str
    evidence: str

    @property
    def days(self) -> tuple[int, int | None]:
        """Return the least and the most days from `since` on, the most None where it is not known."""
        least = max((self.best_before - self.since).days, 0)
        return least, None if self.latest is None else max((self.latest - self.since).days, least)

    @property
    def verdict(self) -> str:
        """Return what its days are: `LIMIT`, `AT_LEAST` or `UNKNOWN`, the last also for a day written by hand."""
        if self.latest is not None:
            return LIMIT
        return AT_LEAST if self.evidence in (NO_END_FOUND, ESTIMATE) else UNKNOWN

    @property
    def text(self) -> str:
        """Return the claim in one sentence, empty where only the day is known or was past on the day of opening."""
        low, high = self.days
        told = bool(self.limit) if high is not None else self.evidence in (NO_END_FOUND, NOT_KNOWN, ESTIMATE)
        return claim(low, high, self.limit, self.evidence) if told and self.best_before >= self.since else ""


def date_name(evidence: str) -> str:
    """Return what the one date of a package is.

    evidence: class of the evidence, or a note by hand
    """
    return msg("check by") if evidence == NOT_KNOWN else msg("best before")


def date_words(day: str, evidence: str) -> str:
    """Return the one date of a package in words: until when it is good, or by when to check it.

    day: as a reader writes it
    evidence: class of the evidence, or a note by hand
    """
    if evidence == NOT_KNOWN:
        return msg("Check by {day}", day=day)
    return msg("Best before {day}", day=day)


def _since(result: KeepingResult, day: date) -> Keeps:
    low, _, high = result.days
    latest = None if high is None else day + timedelta(days=high)
    limit = result.limit if result.verdict == LIMIT else ""
    return Keeps(day, day + timedelta(days=low), latest, limit, result.evidence)


def keeps_closed(result: KeepingResult, packed_on: date | None) -> Keeps | None:
    """Return how long a closed package keeps; None without a day of packing, or when it is too moist to keep.

    result: of the package
    packed_on: day of packing
    """
    return None if packed_on is None or not result.keeps else _since(result, packed_on)


def keeps_opened(plan: PackPlan, closed: Keeps, opened_on: date, seasons: tuple[StoreSeason, ...]) -> Keeps:
    """Return how long a package keeps once it is open: never longer than closed, and its absorber is used up.

    plan: of the closed package
    closed: how long it kept closed
    opened_on: day of opening
    seasons: of its store, from that day on
    """
    wall = max(plan.container.material, materials()[RECLOSED], key=lambda material: material.vapour)
    box = replace(plan.container, material=wall)
    open_plan = replace(
        plan,
        pack=replace(plan.pack, packed_on=opened_on, seasons=seasons, air_left=1.0),
        filling=replace(plan.filling, container=box),
        absorbers=absorbers_for(0.0),
        absorber_time=0.0,
    )
    opened = _since(shelf_life(open_plan), opened_on)
    latest = min((day for day in (opened.latest, closed.latest) if day is not None), default=None)
    if closed.best_before <= opened.best_before:
        return replace(closed, since=opened_on, latest=closed.latest and latest)
    return replace(opened, latest=opened.latest and latest and max(latest, opened.best_before))
