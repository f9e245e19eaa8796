"""Pump-down test: how fast the empty chamber empties, and how far, tells how the pump is."""

import math
from collections.abc import Sequence

import numpy as np

from drystow.constants import ATMOSPHERE
from drystow.errors import InputError, check_range
from drystow.evidence.band import NINE_IN_TEN, Band
from drystow.evidence.machine_tests.leak_test import VOLUME_ERROR
from drystow.evidence.machine_tests.outcome import MachineFinding, around, spread_words
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.numerics import Array
from drystow.shown import quantity

LEAST_READINGS = 4
"""Speed, ultimate pressure and how well they fit need so many. Source: definition, two unknowns and some to spare."""

READING_ERROR = 0.05
"""Relative standard deviation of a reading, with the second it was taken in [-]. Source: drystow-default."""

SLOW, FAR = 0.6, 2.5
"""Share of its speed below which a pump is slow, multiple from which its end pressure is high [-].
Source: drystow-default."""

LEAK_SHARE = 0.5
"""Share of the excess end pressure from which a measured leak explains it [-]. Source: drystow-default."""


def pump_test(
    times: Sequence[float] | Array,
    pressures: Sequence[float] | Array,
    volume: float,
    dryer: Dryer,
    *,
    start: float = ATMOSPHERE,
    leak: Band | None = None,
) -> MachineFinding:
    """Return effective pump speed and end pressure from p = p_end + (p_start - p_end) exp(-S t/V).

    times: since the pump began to empty the chamber [s]
    pressures: read then [Pa]
    volume: of the chamber [m3]
    dryer: the machine, with the numbers used so far
    start: pressure when the pump began [Pa]
    leak: from a leak test, None when there is none [Pa m3/s]
    Source: vacuum-formulas, t = (V/S) ln(p_start/p) with the pump's end pressure taken off.
    """
    at, seen = np.asarray(times, dtype=float), np.asarray(pressures, dtype=float)
    check_range("volume", volume, 1e-4, 100.0, "large volume")
    _check(at, seen, start)
    speed_of, end, cover = _fitted(at, seen, start)
    speed = speed_of * volume
    values = {
        "speed": around(speed, speed * math.hypot(VOLUME_ERROR, math.sqrt(cover[0, 0]))),
        "end": Band(*(end * math.exp(shift * math.sqrt(cover[1, 1])) for shift in (-NINE_IN_TEN, 0.0, NINE_IN_TEN))),
    }
    if values["end"].high > 3.0 * float(seen[-1]) or float(seen[-1]) > 2.0 * end:  # not yet levelled off
        values["end"] = Band(0.0, min(end, float(seen[-1])), float(seen[-1]))
    end_used = values["end"].middle
    from_leak = leak.middle / speed if leak is not None else None
    verdict, words, to_do = _judged(values, dryer, from_leak)
    ultimate = max(end_used - (from_leak if from_leak is not None else dryer.leak / speed), 0.0)
    return MachineFinding(
        "pump",
        values,
        verdict,
        words,
        to_do,
        {"pump_speed": speed, "ultimate_pressure": min(ultimate, 100.0)},
        (
            msg("The chamber must be empty, dry and at room temperature; moisture slows the end of the test."),
            msg("This is the speed of pump, hose and valve together."),
        ),
        ("vacuum-formulas", "drystow-default"),
    )


def _check(at: Array, seen: Array, start: float) -> None:
    if len(at) != len(seen) or len(at) < LEAST_READINGS:
        raise InputError("readings", msg("enter at least {count} pressures, each with its time", count=LEAST_READINGS))
    if np.any(np.diff(at) <= 0.0) or at[0] <= 0.0:
        raise InputError("readings", msg("times count from when the pump started and must go up"))
    if np.any(seen <= 0.0) or np.any(seen > start * 1.02):
        raise InputError("readings", msg("each pressure must be between 0 and the one at the start; check its unit"))
    if seen[-1] >= seen[0]:
        raise InputError("readings", msg("the pressure does not fall; is this the pump-down test?"))


def _fitted(at: Array, seen: Array, start: float) -> tuple[float, float, Array]:
    """Return speed over volume [1/s], end pressure [Pa] and the covariance of their logarithms."""
    from scipy.optimize import least_squares

    def missed(x: Array) -> Array:
        rate, end = np.exp(x)
        curve = end + np.maximum(start - end, 0.0) * np.exp(-rate * at)
        away: Array = np.log(curve / seen) / READING_ERROR
        return away

    guess_end = 0.9 * float(seen.min())
    guess_rate = math.log(start / float(seen[0])) / float(at[0]) if seen[0] < 0.98 * start else 1.0 / float(at[-1])
    found = least_squares(missed, np.log([max(guess_rate, 1e-6), guess_end]), loss="soft_l1")
    scale = max(2.0 * float(found.cost) / max(len(at) - 2, 1), 1.0)
    cover: Array = np.linalg.pinv(found.jac.T @ found.jac) * scale
    rate, end = np.exp(found.x)
    return float(rate), float(end), cover


def _judged(values: dict[str, Band], dryer: Dryer, from_leak: float | None) -> tuple[str, str, tuple[str, ...]]:
    speed, end = values["speed"], values["end"]
    words = msg(
        "The pump empties the chamber at {speed} and gets down to {end}.",
        speed=spread_words(speed, quantity(speed.middle, "pumping speed")),
        end=quantity(end.middle, "pressure", 0),
    )
    slow = speed.high < SLOW * dryer.pump_speed
    usual = dryer.ultimate_pressure + dryer.leak / dryer.pump_speed
    high = end.low > FAR * usual
    to_do: list[str] = []
    if slow:
        to_do += [
            msg(
                "The pump is slow. Check whether its inlet screen, hose or valve is blocked or bent, and "
                "whether it warms up."
            ),
            msg("Change the pump oil if it is cloudy, dark or overdue, and clean the exhaust filter."),
        ]
    if high and from_leak is not None and from_leak > LEAK_SHARE * (end.middle - dryer.ultimate_pressure):
        to_do.append(msg("The lowest pressure is high because of the measured leak, not the oil. Fix the leak first."))
    elif high:
        to_do.append(
            msg(
                "The lowest pressure is high and the leak does not explain it. Change the pump oil, run "
                "the pump warm with its gas ballast open for half an hour to drive moisture out, and "
                "test again."
            )
            if from_leak is not None
            else msg(
                "The lowest pressure is high: old or wet oil, or a leak. Do the leak test; if the "
                "chamber is tight, it is the oil."
            )
        )
    if not to_do:
        close = end.high < FAR * usual and speed.low > SLOW * dryer.pump_speed
        return ("good" if close else "unclear"), words, ()
    return ("bad" if slow and high else "watch"), words, tuple(to_do)
