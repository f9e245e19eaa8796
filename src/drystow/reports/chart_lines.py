"""The lines of a chart: their points, and where each carries its sign."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drystow.numerics import Array
from drystow.units import hours

MOST_POINTS = 300


@dataclass(frozen=True)
class ChartLine:
    """One line of a chart.

    name: in the legend
    mark: short sign on the line itself
    time: of the points [s]
    values: in the unit shown
    colour: of the line
    dash: lengths of strokes and gaps [px]
    """

    name: str
    mark: str
    time: Array
    values: Array
    colour: str
    dash: list[int]


def thin(time: Array, *series: Array) -> tuple[Array, ...]:
    """Return time and series with at most 300 of their points, always with the first and the last."""
    count = len(time)
    if count <= MOST_POINTS:
        return (time, *series)
    keep = np.unique(np.linspace(0, count - 1, MOST_POINTS).round().astype(int))
    return tuple(values[keep] for values in (time, *series))


def place_signs(lines: Sequence[ChartLine]) -> list[dict[str, Any]]:
    """Return where each line carries its sign: far from the other lines and from the signs already placed."""
    named = [line for line in lines if line.mark]
    if not named:
        return []
    low = min(float(np.min(line.values)) for line in lines)
    height = max(max(float(np.max(line.values)) for line in lines) - low, 1e-9)
    length = max(float(line.time[-1]) for line in lines) or 1.0
    taken: list[tuple[float, float]] = []
    signs = []
    for line in named:
        places = np.unique(np.linspace(0.04, 0.96, 60) * (len(line.time) - 1)).astype(int)
        times = line.time[places]
        apart = np.full(len(places), 0.10)
        for other in lines:
            if other is not line:
                gap = np.abs(np.interp(times, other.time, other.values) - line.values[places]) / height
                apart = np.minimum(apart, gap)
        x, y = times / length, (line.values[places] - low) / height
        free = np.full(len(places), 0.3)
        for at, level in taken:
            free = np.minimum(free, np.hypot(x - at, y - level))
        best = int(np.argmax(2 * apart + free))
        taken.append((float(x[best]), float(y[best])))
        signs.append(
            {"time_h": hours(float(times[best])), "value": float(line.values[places[best]]), "sign": line.mark}
        )
    return signs
