"""Evidence besides scale, oven and meter: probe, pressure rise, curves of pressure and power, a piece cut open.

Each is one more likelihood beside those of `weighings`; none settles by itself that a tray is dry.
"""

from dataclasses import replace

from drystow.errors import CELSIUS_HINT, check_range
from drystow.evidence.dryness.curves import power_signals, pressure_signals
from drystow.evidence.dryness.cut import cut_signals
from drystow.evidence.dryness.observed import Evidence
from drystow.evidence.dryness.probe import probe_signals
from drystow.evidence.dryness.rise import rise_signals
from drystow.evidence.dryness.scatter import thinned
from drystow.evidence.dryness.weighings import Likelihood
from drystow.properties.water import MBAR_HINT

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
