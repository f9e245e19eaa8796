"""Evidence besides scale, oven and meter: probe, pressure rise, curves of pressure and power, a piece cut open.

Each is one more likelihood beside those of `weighings`; none settles by itself that a tray is dry.
"""

from dataclasses import replace

from drystow.errors import CELSIUS_HINT, InputError, check_range, unknown
from drystow.evidence.dryness.chamber import rise_signals
from drystow.evidence.dryness.curves import power_signals, pressure_signals
from drystow.evidence.dryness.cut import cut_signals
from drystow.evidence.dryness.observed import FINDINGS, Evidence, rows_of
from drystow.evidence.dryness.probe import probe_signals
from drystow.evidence.dryness.scatter import thinned
from drystow.evidence.dryness.weighings import Likelihood
from drystow.machine.load import Load
from drystow.messages import msg, msg_many
from drystow.properties.water import MBAR_HINT
from drystow.ranges import LONGEST

SIGNALS: tuple[Likelihood, ...] = (probe_signals, rise_signals, pressure_signals, power_signals, cut_signals)
"""Likelihoods of all evidence besides scale, oven and meter."""

OF_THE_CHAMBER = frozenset({rise_signals, pressure_signals, power_signals})
"""Those of what all trays do together; they say the same of each."""

MOST = 96
"""Probe readings of all trays that are heard. Source: drystow-default."""


def fewer_readings(evidence: Evidence) -> Evidence:
    """Return the evidence with no more readings of a curve than tell something, for every one is a look at the runs.

    evidence: what was seen
    """
    return replace(
        evidence,
        probes=thinned(sorted(evidence.probes, key=lambda row: row.time), MOST),
        rises=thinned(sorted(evidence.rises, key=lambda row: row.time)),
        pressures=thinned(sorted(evidence.pressures, key=lambda row: row.time)),
        powers=thinned(sorted(evidence.powers, key=lambda row: row.time)),
    )


def check_signals(evidence: Evidence) -> None:
    """Raise `InputError` when a reading cannot be.

    evidence: what was seen
    """
    for probe in evidence.probes:
        check_range("product", probe.product, 150.0, 450.0, "temperature", CELSIUS_HINT)
        check_range("shelf", probe.shelf, 150.0, 450.0, "temperature", CELSIUS_HINT)
    for rise in evidence.rises:
        check_range("duration", rise.duration, 0.0, 3600.0, "s", above=True)
        check_range("before", rise.before, 0.0, 2000.0, "pressure", MBAR_HINT)
        check_range("after", rise.after, 0.0, 2000.0, "pressure", MBAR_HINT)
    for reading in evidence.pressures:
        check_range("pressure", reading.pressure, 0.0, 2e5, "pressure", MBAR_HINT)
    for power in evidence.powers:
        check_range("power", power.power, 0.0, 1e6, "W")


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
