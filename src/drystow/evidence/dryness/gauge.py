"""What a vacuum gauge shows of vapour: nobody says which kind it is, so each kind is a story with a chance."""

from drystow.numerics import Array

GAUGES = ((1.0, 0.4), (1.6, 0.6))
"""What a gauge shows over the true pressure of water vapour, each with its chance [-]: one that feels the force on a
membrane shows the truth, one that feels the loss of heat shows more. Source: gauge-vapour, drystow-default for the
chances."""
SCALE = 0.06  # error of a gauge's scale, the same in all its readings [-]; drystow-default


def shown(air: Array, vapour: Array, factor: float) -> Array:
    """Return what a gauge shows [Pa].

    air: pressure of air [Pa]
    vapour: pressure of water vapour [Pa]
    factor: what it shows over the true pressure of vapour [-]
    Source: gauge-vapour, gauges are set for air.

    >>> float(shown(5.0, 10.0, 1.6))
    21.0
    """
    result: Array = air + factor * vapour
    return result
