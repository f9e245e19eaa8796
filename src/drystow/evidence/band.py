"""Where a number lies that is not known exactly."""

from dataclasses import dataclass

import numpy as np

from drystow.numerics import Array

PERCENTILES = (5.0, 50.0, 95.0)

NINE_IN_TEN = 1.645
"""Standard deviations on either side of the middle that hold nine in ten of a normal spread [-]. Source: definition."""


@dataclass(frozen=True)
class Band:
    """Where a number lies: nine in ten between the first and the last.

    low: one in twenty lies below [-]
    middle: half lie below [-]
    high: one in twenty lies above [-]
    """

    low: float
    middle: float
    high: float


def band(values: Array) -> Band:
    """Return where nine in ten of the values lie.

    values: of all members [-]
    """
    return Band(*(float(value) for value in np.percentile(values, PERCENTILES)))
