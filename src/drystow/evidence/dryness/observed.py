"""What a cook or a dryer sees of a batch, and the clock that counts drying only while food is under vacuum."""

from dataclasses import dataclass, fields

import numpy as np

from drystow.numerics import Array, Numeric

OPENED = 240.0  # out of the chamber for a sample, a reading or a cut [s]; drystow-default
ONE_OPENING = 600.0  # openings closer than this are one [s]; drystow-default
FINDINGS = ("dry", "cold", "soft", "ice")


@dataclass(frozen=True)
class Weighed:
    """A tray on the scale. Times count from when drying began.

    tray: number from 1
    time: when it lay on the scale [s]
    gross: shown by the scale [kg]
    tare: of the empty tray [kg]
    resolution: step of the scale [kg]
    outside: time out of the chamber before it lay on the scale [s]
    """

    tray: int
    time: float
    gross: float
    tare: float
    resolution: float = 0.001
    outside: float = 240.0


@dataclass(frozen=True)
class OvenSample:
    """A sample of a tray dried to constant weight at 100 to 105 °C.

    tray: number from 1
    time: when it was taken [s]
    before: sample as taken [kg]
    after: its dry matter [kg]
    resolution: step of the scale [kg]
    """

    tray: int
    time: float
    before: float
    after: float
    resolution: float = 0.0001


@dataclass(frozen=True)
class ActivityReading:
    """A sample of a tray in a water-activity meter at 25 °C.

    tray: number from 1
    time: when it was taken [s]
    activity: shown [-]
    error: standard deviation of the meter [-]
    """

    tray: int
    time: float
    activity: float
    error: float = 0.015


@dataclass(frozen=True)
class ProbeReading:
    """A probe in the food against the shelf.

    tray: number from 1
    time: of the reading [s]
    product: temperature in the food [K]
    shelf: temperature of the shelf [K]
    """

    tray: int
    time: float
    product: float
    shelf: float


@dataclass(frozen=True)
class ObservedRise:
    """The chamber's pressure before and after the way to the trap was closed.

    time: when it was closed [s]
    duration: how long [s]
    before: pressure [Pa]
    after: pressure [Pa]
    """

    time: float
    duration: float
    before: float
    after: float


@dataclass(frozen=True)
class PressureReading:
    """The chamber's pressure at a moment.

    time: of the reading [s]
    pressure: in the chamber [Pa]
    """

    time: float
    pressure: float


@dataclass(frozen=True)
class PowerReading:
    """The electric power at a moment.

    time: of the reading [s]
    power: of the whole dryer [W]
    """

    time: float
    power: float


@dataclass(frozen=True)
class CutPiece:
    """The thickest piece of a tray cut open.

    tray: number from 1
    time: when [s]
    finding: dry, cold, soft or ice
    """

    tray: int
    time: float
    finding: str


Row = Weighed | OvenSample | ActivityReading | ProbeReading | ObservedRise | PressureReading | PowerReading | CutPiece
"""Anything that was seen."""


@dataclass(frozen=True)
class Evidence:
    """Everything that was seen of a batch, in any order.

    weighed: trays on the scale
    samples: dried in an oven
    activities: water-activity readings
    probes: product temperatures
    rises: pressure rises with the trap closed
    pressures: curve of the pressure
    powers: curve of the power
    cuts: pieces cut open
    """

    weighed: tuple[Weighed, ...] = ()
    samples: tuple[OvenSample, ...] = ()
    activities: tuple[ActivityReading, ...] = ()
    probes: tuple[ProbeReading, ...] = ()
    rises: tuple[ObservedRise, ...] = ()
    pressures: tuple[PressureReading, ...] = ()
    powers: tuple[PowerReading, ...] = ()
    cuts: tuple[CutPiece, ...] = ()


@dataclass(frozen=True)
class Clock:
    """When the chamber was open: time that does not count as drying.

    starts: of the openings, in order [s]
    lengths: until the vacuum was back [s]
    """

    starts: Array
    lengths: Array


def clock_of(evidence: Evidence, pump_down: float) -> Clock:
    """Return the openings that the evidence tells of.

    evidence: what was seen
    pump_down: time until the vacuum is back [s]
    Source: drystow-default, the food goes back as fast as it came out.
    """
    spans = [(row.time - row.outside, row.time + row.outside) for row in evidence.weighed]
    taken: tuple[Row, ...] = (*evidence.samples, *evidence.activities, *evidence.cuts)
    spans += [(row.time - OPENED, row.time + OPENED) for row in taken]
    joined: list[list[float]] = []
    for start, end in sorted(spans):
        if joined and start <= joined[-1][1] + ONE_OPENING:
            joined[-1][1] = max(joined[-1][1], end)
        else:
            joined.append([max(start, 0.0), end])
    return Clock(
        np.array([start for start, _end in joined]), np.array([end - start + pump_down for start, end in joined])
    )


def drying_time(clock: Clock, time: Numeric) -> Numeric:
    """Return how long the food has been drying at a moment [s].

    clock: openings of the chamber
    time: since drying began [s]
    Source: definition, time under vacuum.

    >>> print(drying_time(Clock(np.array([100.0]), np.array([50.0])), 120.0))
    100.0
    """
    moments = np.asarray(time, dtype=float)
    away = np.clip(moments[..., None] - clock.starts, 0.0, clock.lengths).sum(axis=-1)
    result: Numeric = moments - away
    return result if moments.ndim else float(result)


def seen_at(clock: Clock, row: Row) -> float:
    """Return how long the food had been drying when something was seen [s].

    clock: openings of the chamber
    row: any row of an `Evidence`
    Source: definition, a weighed tray dried until it was taken out.
    """
    time = row.time
    if isinstance(row, Weighed):
        time -= row.outside
    elif isinstance(row, (OvenSample, ActivityReading, CutPiece)):
        time -= OPENED
    return max(float(drying_time(clock, time)), 0.0)


def rows_of(evidence: Evidence) -> tuple[Row, ...]:
    """Return every row of the evidence.

    evidence: what was seen
    """
    return tuple(row for part in fields(evidence) for row in getattr(evidence, part.name))
