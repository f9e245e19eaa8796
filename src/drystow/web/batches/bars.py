"""The course of a tray as pieces of one bar, in thousandths of the run."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from drystow.machine.result import TrayResult

LENGTH = 1000
STEPS = (1, 2, 3, 4, 6, 12, 24, 48, 96)
MOST_TICKS = 8
KINDS = {
    "freezing": _("freezing"),
    "waiting": _("frozen, waiting for the vacuum"),
    "ice": _("ice turning to vapor"),
    "last": _("last moisture leaving"),
    "done": _("dry, waiting for the other trays"),
}


@dataclass(frozen=True)
class Bar:
    """One piece of the bar.

    start: where it begins
    length: how long it is
    kind: one of `KINDS`
    """

    start: int
    length: int
    kind: str

    @property
    def words(self) -> str:
        """What happens meanwhile."""
        return str(KINDS[self.kind])


@dataclass(frozen=True)
class Tick:
    """One hour mark below the bars.

    place: where it stands
    hour: since the food went in
    """

    place: int
    hour: int


def tray_bars(tray: TrayResult, drying_start: float, total: float) -> tuple[Bar, ...]:
    """Return the pieces of a tray's bar.

    tray: of the simulated load
    drying_start: vacuum and heat begin [s]
    total: end of the run [s]
    """
    ice_gone = total if tray.primary_end is None else tray.primary_end
    dry = total if tray.dry_end is None else tray.dry_end
    ends = (
        ("freezing", tray.freezing_end),
        ("waiting", drying_start),
        ("ice", ice_gone),
        ("last", dry),
        ("done", total),
    )
    bars, start = [], 0
    for kind, time in ends:
        end = round(LENGTH * min(time, total) / total)
        if end > start:
            bars.append(Bar(start, end - start, kind))
            start = end
    return tuple(bars)


def hour_ticks(total: float) -> tuple[Tick, ...]:
    """Return at most nine round hours along the run.

    total: end of the run [s]
    """
    hours = total / 3600
    step = next((step for step in STEPS if hours / step <= MOST_TICKS), STEPS[-1])
    return tuple(Tick(round(LENGTH * hour / hours), hour) for hour in range(0, int(hours) + 1, step))
