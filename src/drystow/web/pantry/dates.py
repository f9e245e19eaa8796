"""The date of a package: worked out here when it is packed, added, moved or opened, and read from here everywhere."""

from datetime import date
from typing import Any

from drystow.keeping.shelf_life import Keeps, keeps_closed, keeps_opened
from drystow.messages import msg
from drystow.packing.seasons import StoreSeason
from drystow.reports.package_plan import PackagePlan
from drystow.web.pantry.adapters import plan_in, store_of, stored_food, usual_seasons
from drystow.web.pantry.models import Movement, Package

BY_HAND = msg("as printed on the package")
"""Basis of a date that a person wrote down; it is not worked out again while the package is closed."""

CLOSE = 30  # days
"""A date that the logged temperatures would bring forward by less is left as it is."""


def keeps_of(package: Package) -> Keeps | None:
    """Return how long a package keeps, as it stands in its record; None without a date."""
    if package.best_before is None:
        return None
    since = package.opened_on or package.packed_on
    return Keeps(since, package.best_before, package.best_until, package.limit, package.basis or BY_HAND)


def columns_of(keeps: Keeps | None) -> dict[str, Any]:
    """Return the columns of a package that say how long it keeps."""
    if keeps is None:
        return {"best_before": None, "best_until": None, "limit": "", "basis": ""}
    return {
        "best_before": keeps.best_before,
        "best_until": keeps.latest,
        "limit": str(keeps.limit),
        "basis": str(keeps.evidence)[:200],
    }


def closed(package: Package, movements: list[Movement], today: date) -> Keeps | None:
    """Return how long a package keeps closed, by the temperatures of its places: logged until today, usual afterwards.

    movements: all of the package, oldest first, with their places
    """
    plan = _plan(package, store_of(package, movements, today))
    return keeps_closed(plan.keeping, package.packed_on) if plan is not None else None


def _plan(package: Package, seasons: tuple[StoreSeason, ...]) -> PackagePlan | None:
    food = stored_food(package)
    return plan_in(package, food, seasons) if food is not None else None


def opened(package: Package, opened_on: date) -> dict[str, Any]:
    """Return the columns of a package that is open: never a later date than it has."""
    before, seasons = keeps_of(package), usual_seasons(package.place, opened_on)
    plan = _plan(package, seasons)
    if before is None or plan is None:
        return {}
    return columns_of(keeps_opened(plan.packing, before, opened_on, seasons))


def again(package: Package, movements: list[Movement], today: date) -> dict[str, Any]:
    """Return the columns of a package whose places have changed; nothing where its date cannot be worked out."""
    if package.opened_on is not None:
        return opened(package, package.opened_on)
    if package.basis == BY_HAND:
        return {}
    plan = _plan(package, store_of(package, movements, today))
    return {} if plan is None else columns_of(keeps_closed(plan.keeping, package.packed_on))


def too_late(package: Package, movements: list[Movement], today: date) -> bool:
    """Say whether the date of a closed package is too late: its places were warmer, or more is known now."""
    if package.state != "stored" or package.best_before is None or package.basis == BY_HAND:
        return False
    keeps = closed(package, movements, today)
    return keeps is not None and (package.best_before - keeps.best_before).days > CLOSE
