"""What is left of packages, added up from their movements; the row of a package only repeats it for the lists.

packed - used - given away - discarded + counted = left
"""

from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Case, F, FloatField, Q, Sum, When
from django.utils import timezone

from drystow.messages import msg
from drystow.web.kit import records
from drystow.web.pantry.models import Movement, Package
from drystow.web.pantry.stock import STATES

IN = ("packed", "counted")
OUT = CLOSED = STATES["gone"]
"""Movements that take something out, and the states of an empty package, which are called like its last movement."""
CRUMBS_KG = 0.0005
"""Less than this is nothing: half of what a kitchen scale shows."""
ROUNDING_KG = 1e-6
"""Sums of decimal fractions are off by less than this."""
NOTE = msg("corrected: its movements did not add up")


@dataclass(frozen=True)
class WrongSum:
    """A package of which the row and the movements say different things.

    package: as its row says
    moved_kg: left as the movements say, below zero when more went out than came in [kg]
    """

    package: Package
    moved_kg: float


def left_in(package: Package) -> float:
    """Return what is left of a package as its movements say [kg]; right for a write only under the lock of its row."""
    found: float = package.movements.order_by().aggregate(left=_sum_of(""))["left"]
    return found


def wrong_sums() -> list[WrongSum]:
    """Return the packages, also those in the bin, whose row does not say what their movements say."""
    sums = Package.objects.order_by().values("pk", "left_mass_kg").annotate(moved_kg=_sum_of("movements__"))
    wrong = sums.filter(
        Q(left_mass_kg__gt=F("moved_kg") + ROUNDING_KG) | Q(left_mass_kg__lt=F("moved_kg") - ROUNDING_KG)
    )
    found = {row["pk"]: row["moved_kg"] for row in wrong}
    packages = Package.objects.in_bulk(found)
    return [WrongSum(packages[number], moved) for number, moved in sorted(found.items())]


def mend(package: Package, *, who: str = "") -> Package:
    """Return a package whose row says what its movements say; where these say less than nothing, one makes up for it.

    A package from before its movements were kept gets them from its row.
    """
    with transaction.atomic(), records.one_action():
        current: Package = Package.objects.select_for_update().get(pk=package.pk)
        if current.binned_at is not None:
            mended = mend(records.take_back(current, who=who, words=NOTE), who=who)
            return records.put_in_bin(mended, who=who, words=NOTE)
        if not current.movements.filter(kind="packed").exists():
            at, place = current.created_at, current.place
            _make_up(current, "packed", current.net_mass_kg, at=at, place=place, who=who)
            _make_up(current, "counted", current.left_mass_kg - left_in(current), at=at, who=who)
        left = left_in(current)
        if left < CRUMBS_KG:
            _make_up(current, "counted", -left, who=who)
            left = 0.0
        changes: dict[str, Any] = {"left_mass_kg": left}
        if (left == 0.0) != (current.state in CLOSED):
            changes["state"] = "open" if left else "used"
        return records.change(current, changes, expected=current.version, who=who, words=NOTE)


def _make_up(package: Package, kind: str, mass_kg: float, **values: Any) -> None:
    if abs(mass_kg) > ROUNDING_KG:
        usual = {"at": timezone.now(), "note": NOTE}
        Movement.objects.create(package=package, kind=kind, mass_kg=mass_kg, **(usual | values))


def _sum_of(path: str) -> Any:
    mass = F(f"{path}mass_kg")
    signed = Case(When(**{f"{path}kind__in": IN}, then=mass), When(**{f"{path}kind__in": OUT}, then=-mass))
    return Sum(signed, default=0.0, output_field=FloatField())
