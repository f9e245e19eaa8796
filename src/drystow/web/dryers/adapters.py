"""Between the rows of dryers and batches and the engine: the machine, its running hours, what runs taught."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_noop as later

from drystow import units
from drystow.machine import profile
from drystow.sources import Source, cite
from drystow.web.batches.models import Batch
from drystow.web.dryers.models import Dryer, Service

PA_M3_PER_MBAR_L = 0.1
"""One mbar·L/s [Pa m3/s]. Source: definition."""

LEAK_REFERENCE = 2e-2 * PA_M3_PER_MBAR_L
"""Leak of a clean, dry, empty dryer that is still accepted [Pa m3/s]. Source: leak-reference."""

MAIN_NUMBERS = {
    # field of the machine: words
    "trays": later("Number of trays"),
    "tray_area": later("Area of one tray"),
    "rim_height": later("Height of a tray's rim"),
    "heater_power": later("Heaters, all shelves together"),
    "shelf_highest": later("Warmest shelf setting"),
    "pressure_limit": later("Pressure above which the heaters pause"),
    "trap_capacity": later("Ice that the cold trap holds"),
    "trap_floor": later("Coldest temperature of the trap"),
    "chamber_volume": later("Volume of the chamber"),
    "compressor_power": later("Electricity of the refrigerator"),
    "pump_power": later("Electricity of the vacuum pump"),
    "pump_speed": later("Speed of the vacuum pump"),
    "ultimate_pressure": later("Lowest pressure, empty and dry"),
    "leak": later("Air leaking in"),
    "room": later("Temperature of the room"),
}


@dataclass(frozen=True)
class OilHours:
    """Running hours of the pump since its oil was changed.

    since: day of the last change, None when none is in the log
    hours: that the dryer ran since
    limit: of the dryer
    """

    since: date | None
    hours: float
    limit: float

    @property
    def over(self) -> bool:
        """Return whether the oil is due."""
        return self.hours >= self.limit


@dataclass(frozen=True)
class Taught:
    """A finished run against its prediction [h]."""

    batch: Batch
    predicted: float
    actual: float

    @property
    def ratio(self) -> float:
        """Return the actual over the predicted time."""
        return self.actual / self.predicted


def machine_of(name: str, numbers: Mapping[str, Any]) -> profile.Dryer:
    """Return the machine of a profile with its own numbers; raises `InputErrors` naming each wrong one."""
    return profile.read_dryer(numbers, profile.dryer_profile(name))


def shown_numbers(machine: profile.Dryer, system: str) -> dict[str, str]:
    """Return the main numbers of a machine as text in a unit system."""
    return {name: _shown(name, getattr(machine, name), system) for name in MAIN_NUMBERS}


def _shown(name: str, value: float, system: str) -> str:
    kind = profile.KINDS[name][0] if name in profile.KINDS else ""
    if kind == "leak":
        return leak_text(value)
    if kind == "pumping speed":
        return f"{value * 3600:.3g} m³/h"
    if kind == "volume":
        return f"{value * 1000:.3g} L"
    return units.show(value, kind, system) if kind else f"{value:g}"


def leak_text(value: float) -> str:
    """Return a leak [Pa m3/s] as text in mbar·L/s, the unit of the trade."""
    return f"{value / PA_M3_PER_MBAR_L:.3g} mbar·L/s"


def read_leak(text: str) -> float:
    """Return a leak [Pa m3/s] from what a person wrote; a bare number counts in mbar·L/s."""
    bare = not any(letter.isalpha() for letter in text.replace("e", "").replace("E", ""))
    return units.parse(f"{text} mbar*L/s" if bare else text.replace("·", "*"), "leak", "value")


def leak_source() -> Source:
    """Return where the reference for leaks comes from."""
    return cite("leak-reference")


def oil_hours(dryers: Iterable[Dryer], now: datetime | None = None) -> dict[int, OilHours]:
    """Return the running hours of every dryer since its oil change, with two queries for any number of dryers.

    A run counts from the beginning of the day of the change, so rather too many hours than too few.
    """
    rows = list(dryers)
    now = now or timezone.now()
    changed: dict[int, date] = {}
    for number, on in (
        Service.objects.kept().filter(dryer__in=rows, kind="oil").order_by("on").values_list("dryer_id", "on")
    ):
        changed[number] = on
    hours: defaultdict[int, float] = defaultdict(float)
    runs = Batch.objects.kept().filter(dryer__in=rows, started_at__isnull=False)
    for number, start, end in runs.values_list("dryer_id", "started_at", "ended_at"):
        since = changed.get(number)
        if since is not None:
            start = max(start, timezone.make_aware(datetime.combine(since, time())))
        hours[number] += max(((end or now) - start).total_seconds() / 3600, 0.0)
    return {row.pk: OilHours(changed.get(row.pk), hours[row.pk], row.oil_hours_limit) for row in rows}


def taught_by(dryer: Dryer) -> tuple[list[Taught], float | None]:
    """Return the finished runs of a dryer against their predictions, newest first, and the mean ratio."""
    runs = []
    for batch in Batch.objects.kept().filter(dryer=dryer, started_at__isnull=False, ended_at__isnull=False):
        predicted = predicted_hours(batch)
        actual = (batch.ended_at - batch.started_at).total_seconds() / 3600
        if predicted and actual > 0:
            runs.append(Taught(batch, predicted, actual))
    runs.sort(key=lambda run: run.batch.ended_at, reverse=True)
    return runs, (sum(run.ratio for run in runs) / len(runs) if runs else None)


def predicted_hours(batch: Batch) -> float | None:
    """Return the middle of the predicted times of a batch [h], None when nothing was predicted."""
    total = batch.prediction.get("total_h") if isinstance(batch.prediction, dict) else None
    if isinstance(total, dict):
        total = total.get("p50")
    return float(total) if isinstance(total, (int, float)) and total > 0 else None
