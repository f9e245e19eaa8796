"""When the last tray is dry, from what is known of each."""

from collections.abc import Sequence

import numpy as np

SHARES = (0.1, 0.5, 0.9)
"""Of runs that end before the times of `last_dry` [-]. Source: definition."""


def last_dry(trays: Sequence[Sequence[float]], shares: Sequence[float] = SHARES) -> tuple[float, ...]:
    """Return the times by which all trays are dry, for some shares of runs [s].

    trays: per tray, equally likely times that it needs, the shortest first; infinite: never [s]
    shares: of runs [-]
    Source: definition, largest of independent times.
    Trays of one machine are late together; taken as independent, the middle comes out a little late, never early.

    >>> last_dry([[1.0, 2.0, 3.0, 4.0], [2.0, 2.0, 2.0, 2.0]], [0.5, 0.9])
    (2.0, 4.0)
    """
    moments = np.unique(np.concatenate([np.asarray(times, dtype=float) for times in trays]))
    reached = np.prod(
        [np.searchsorted(np.asarray(times, dtype=float), moments, side="right") / len(times) for times in trays], axis=0
    )
    return tuple(float(moments[min(int(np.argmax(reached >= share)), len(moments) - 1)]) for share in shares)
