"""Evidence that cannot be is refused before anything is computed."""

from drystow.errors import InputError, check_range, unknown
from drystow.evidence.dryness.observed import FINDINGS, Evidence, rows_of
from drystow.evidence.dryness.signals import check_signals
from drystow.machine.load import LONGEST, Load
from drystow.messages import msg, msg_many


def check_seen(load: Load, evidence: Evidence, now: float, trays: tuple[tuple[int, ...], ...]) -> None:
    """Raise `InputError` when something that was seen cannot be.

    load: food, dryer and program
    evidence: what was seen
    now: moment of the question, since drying began [s]
    trays: numbers of the items of each tray
    """
    check_range("now", now, 0.0, LONGEST, "s")
    numbers = [number for items in trays for number in items]
    if not trays or not all(trays) or not set(numbers) <= set(range(len(load.items))):
        raise InputError("groups", msg("every tray needs at least one item of the load"))
    for row in rows_of(evidence):
        tray = getattr(row, "tray", 1)
        if not 1 <= tray <= len(trays):
            raise InputError(
                "tray",
                msg_many(
                    "there is no tray {tray}; this load has one tray",
                    "there is no tray {tray}; this load has {count} trays",
                    len(trays),
                    tray=tray,
                ),
            )
        check_range("time", row.time, 0.0, now, "s", msg("nothing can be recorded before drying began or after now"))
    for weighed in evidence.weighed:
        check_range("gross", weighed.gross, weighed.tare, 1000.0, "mass", msg("tray and food together"), above=True)
        check_range("resolution", weighed.resolution, 0.0, 1.0, "mass", above=True)
    for sample in evidence.samples:
        check_range("before", sample.before, 0.0, 10.0, "mass", above=True)
        check_range("after", sample.after, 0.0, sample.before, "mass", msg("a sample can only lose weight in an oven"))
    for reading in evidence.activities:
        check_range("activity", reading.activity, 0.0, 1.0, "")
        check_range("error", reading.error, 0.0, 0.5, "", above=True)
    for cut in evidence.cuts:
        if cut.finding not in FINDINGS:
            raise unknown("finding", cut.finding, FINDINGS, msg("finding"))
    check_signals(evidence)
