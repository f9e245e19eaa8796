"""How long a package keeps: the first limit reached, never without the evidence behind it."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import isfinite

from drystow.constants import NO_GROWTH
from drystow.errors import InputError
from drystow.foods.kinds import class_row, is_a
from drystow.foods.marks import raw_cautions
from drystow.keeping.food_code import dryness_caution
from drystow.keeping.limits import (
    COLOR,
    CRISPNESS,
    Limit,
    colour,
    crispness,
    eating_quality,
    evidence_word,
    oxygen,
    quality_table,
    speed_ratio,
)
from drystow.keeping.survival import NO_KILL_STEP
from drystow.messages import ends, msg
from drystow.packing.containers import materials
from drystow.packing.oxygen import absorbers_for
from drystow.packing.plan import PackPlan, describe_time
from drystow.packing.seasons import DAY, YEAR, StoreSeason, describe, mean_temperature
from drystow.properties.glass import stickiness
from drystow.shown import quantity

LONGEST = 25 * YEAR
"""No longer life is claimed [s]. Source: byu-11075."""

CAP_SENTENCE = msg("No published study supports keeping times of 25 years or more, so none is claimed here.")


@dataclass(frozen=True)
class KeepingResult:
    """How long a package keeps.

    limit: name of the limit that may come first
    keeps: dry enough to keep, and longer than a day; without it there is no best-before date
    low: pessimistic time to the first limit [s]
    central: best estimate of it [s]
    high: optimistic time [s]
    evidence: class of the evidence of that limit
    limits: every limit, the one that may come first at the head
    notes: sentences on ranges and assumptions
    cautions: sentences on safety
    sources: keys in sources.toml
    """

    limit: str
    keeps: bool
    low: float
    central: float
    high: float
    evidence: str
    limits: tuple[Limit, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def days(self) -> tuple[int, int, int]:
        """Return low, central and high in whole days. Source: definition."""
        return int(self.low / DAY), int(self.central / DAY), int(self.high / DAY)

    @property
    def text(self) -> str:
        """Return the claim in one sentence, with its evidence in a word. Source: definition."""
        low, _, high = self.days
        return claim(low, high, self.limit, self.evidence)


def claim(low: int, high: int, limit: str, evidence: str) -> str:
    """Return how long food keeps in one sentence, with its evidence in a word.

    low: least time in days
    high: most in days
    limit: name of what ends it
    evidence: class of the evidence
    Source: definition.
    """
    least, most = describe_time(low * DAY), describe_time(high * DAY)
    evidence = evidence_word(evidence)
    if least == most:
        return msg("{time} before {limit} suffers ({evidence})", time=least, limit=limit, evidence=evidence)
    least, most = ends(least, most)
    return msg(
        "{low} to {high} before {limit} suffers ({evidence})", low=least, high=most, limit=limit, evidence=evidence
    )


def shelf_life(plan: PackPlan) -> KeepingResult:
    """Return how long a package keeps in its store.

    plan: of the package
    """
    found = [limit for limit in (colour(plan), eating_quality(plan), crispness(plan), oxygen(plan)) if limit]
    limits = tuple(sorted(found, key=lambda limit: (limit.low, limit.central)))
    low, central, high = (
        min(min(getattr(limit, name) for limit in limits), LONGEST) for name in ("low", "central", "high")
    )
    return KeepingResult(
        limit=limits[0].name,
        keeps=plan.water_activity < NO_GROWTH and low >= DAY,
        low=low,
        central=central,
        high=high,
        evidence=limits[0].evidence,
        limits=limits,
        notes=_notes(plan, limits, low, high),
        cautions=_cautions(plan),
        sources=tuple(dict.fromkeys(limit.source for limit in limits)),
    )


def thiamin_left(food_class: str, time: float) -> float | None:
    """Share of thiamin left, at the rate seen in food about 50 years old; None for classes without data [-].

    food_class: class of the food
    time: in the store [s]
    Valid: unknown temperatures of that food's stores; first order.
    Source: byu-11075, 78% lost in beef, 49% in green beans.

    >>> print(f"{thiamin_left('meat', 10 * YEAR):.2f}")
    0.74
    """
    lost = class_row(food_class).get("thiamin_lost")
    return None if lost is None else float((1 - lost) ** (time / (quality_table()["thiamin"]["years"] * YEAR)))


def _notes(plan: PackPlan, limits: tuple[Limit, ...], low: float, high: float) -> tuple[str, ...]:
    pack = plan.pack
    notes: list[str] = [
        msg(
            "For a place at {store}. The best-before date uses the shorter time.",
            store=describe(pack.seasons),
        )
    ]
    if any(isfinite(limit.high) and limit.high > LONGEST for limit in limits) or high >= LONGEST:
        notes.append(CAP_SENTENCE)
    if limits[0].name == CRISPNESS and low == 0:
        notes.append(msg("The food is already too moist to be crisp."))
    if limits[0].name == COLOR:
        notes.append(msg("Browned food is still food: its eating quality lasts longer than its color."))
    if (left := thiamin_left(pack.food.food_class, low)) is not None:
        notes.append(
            msg("About {left:.0%} of the thiamin is left by then, judging by food about 50 years old.", left=left)
        )
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
    if is_a(pack.food.food_class, "vitamin-c"):
        notes.append(_vitamin_c(mean_temperature(pack.seasons)))
    return tuple(notes)


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


def _vitamin_c(temperature: float) -> str:
    slow, fast = (
        speed_ratio(energy, temperature, temperature - 10) for energy in quality_table()["vitamin_c"]["energy"]
    )
    return msg(
        "Vitamin C lasts {slow:.1f} to {fast:.1f} times as long in a place {step} cooler.",
        slow=slow,
        fast=fast,
        step=quantity(10.0, "temperature difference", 0),
    )


def _cautions(plan: PackPlan) -> tuple[str, ...]:
    cautions = [sentence] if (sentence := dryness_caution(plan.water_activity)) else []
    return (*cautions, *raw_cautions(plan.pack.food.raw_animal, (NO_KILL_STEP,)))


RECLOSED = "ldpe-bag"
"""Wall that an opened package is reckoned with: it holds no better than a zip freezer bag. Source: drystow-default."""


@dataclass(frozen=True)
class Keeps:
    """How long one package keeps.

    since: day of packing, or of opening once it is open
    best_before: day until which it should be good
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
    def text(self) -> str:
        """Return the claim in one sentence, empty where only the day is known or was past on the day of opening."""
        low, high = self.days
        if high is None or not self.limit or self.best_before < self.since:
            return ""
        return claim(low, high, self.limit, self.evidence)


def keeps_closed(result: KeepingResult, packed_on: date | None) -> Keeps | None:
    """Return how long a closed package keeps; None without a day of packing, or when it is too moist to keep.

    result: of the package
    packed_on: day of packing
    """
    if packed_on is None or not result.keeps:
        return None
    low, _, high = result.days
    latest = packed_on + timedelta(days=high)
    return Keeps(packed_on, packed_on + timedelta(days=low), latest, result.limit, result.evidence)


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
        pack=replace(plan.pack, packed_on=opened_on, seasons=seasons),
        filling=replace(plan.filling, container=box),
        absorbers=absorbers_for(0.0),
        absorber_time=0.0,
    )
    result = shelf_life(open_plan)
    low, _, high = result.days
    best_before, latest = opened_on + timedelta(days=low), opened_on + timedelta(days=high)
    if closed.best_before <= best_before:
        return replace(closed, since=opened_on, latest=closed.latest and min(closed.latest, latest))
    latest = latest if closed.latest is None else min(latest, closed.latest)
    return Keeps(opened_on, best_before, max(latest, best_before), result.limit, result.evidence)
