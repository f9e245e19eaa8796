"""The one answer to how long a package keeps: every headline, label, list, file and detail takes its date from here."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

from drystow.keeping.shelf_life import KeepingResult, claim, shelf_life
from drystow.packing.containers import materials
from drystow.packing.oxygen import absorbers_for
from drystow.packing.plan import PackPlan
from drystow.packing.seasons import StoreSeason

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
