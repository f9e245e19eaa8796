"""Leak test: the pressure rises in the shut, empty chamber; its shape tells air leaking in from water vapour."""

from collections.abc import Sequence

import numpy as np

from drystow.errors import InputError, check_range
from drystow.evidence.band import NINE_IN_TEN, Band, band
from drystow.evidence.machine_tests.outcome import MachineFinding, spread_words
from drystow.messages import msg
from drystow.numerics import Array
from drystow.properties.water import ice_vapour_pressure
from drystow.shown import between, quantity

LEAK_REFERENCE = 2e-3
"""Leak of a clean, dry, empty dryer that is still accepted [Pa m3/s]. Source: leak-reference."""

VOLUME_ERROR, GAUGE_ERROR = 0.1, 0.02
"""Relative standard deviations of the volume and of the gauge [-]. Source: drystow-default."""

LEAST_READINGS = 5
"""Below this many readings a straight line and a curve cannot be told apart. Source: drystow-default."""

LEVELS = 60  # time constants of the vapour that are tried
MBAR_L = 0.1
"""One mbar L/s [Pa m3/s]. Source: definition."""


def leak_test(
    times: Sequence[float] | Array,
    pressures: Sequence[float] | Array,
    volume: float,
    *,
    resolution: float = 1.0,
    ice: float | None = None,
) -> MachineFinding:
    """Return the leak, told from the water vapour that fills the chamber up to a level.

    times: since the chamber was shut [s]
    pressures: read then [Pa]
    volume: of the chamber with the pipes up to the valve [m3]
    resolution: steps of the gauge [Pa]
    ice: temperature of ice left in the chamber or on the trap, None when it is dry [K]
    Source: vacuum-formulas, Q = V dp/dt; rate-of-rise, a straight line is a leak and a curve that levels off vapour.
    """
    at, seen = _checked(times, pressures)
    check_range("volume", volume, 1e-4, 100.0, "large volume")
    few = len(at) < LEAST_READINGS
    if few:
        total = volume * (seen[-1] - seen[0]) / (at[-1] - at[0])
        error = volume * resolution * np.sqrt(2.0 / 12.0) / (at[-1] - at[0]) + VOLUME_ERROR * abs(total)
        leak = Band(0.0, max(0.5 * total, 0.0), max(total + NINE_IN_TEN * error, 0.0))
        vapour, level = Band(0.0, max(0.5 * total, 0.0), max(total, 0.0)), None
    else:
        leak, vapour, level = _fitted(at, seen, volume, resolution)
    verdict = _verdict(leak)
    notes = [
        msg(
            "A clean, dry, empty dryer counts as tight up to {limit}. No limit for kitchens is known.",
            limit=quantity(LEAK_REFERENCE, "leak"),
        )
    ]
    if few:
        notes.append(
            msg(
                "Fewer than {count} readings can't tell air from water vapor: the highest value counts "
                "the whole rise as a leak.",
                count=LEAST_READINGS,
            )
        )
    if ice is not None:
        pressure = float(ice_vapour_pressure(ice))
        notes.append(
            msg(
                "Ice in the chamber adds up to about {pressure} of vapor.",
                pressure=quantity(pressure, "pressure", 0),
            )
        )
    return MachineFinding(
        "leak",
        {"leak": leak, "vapour": vapour} | ({} if level is None else {"level": level}),
        verdict,
        _words(leak, vapour),
        _to_do(verdict, leak, vapour),
        {"leak": leak.middle},
        tuple(notes),
        ("leak-reference", "vacuum-formulas", "rate-of-rise", "drystow-default"),
    )


def _checked(times: Sequence[float] | Array, pressures: Sequence[float] | Array) -> tuple[Array, Array]:
    at, seen = np.asarray(times, dtype=float), np.asarray(pressures, dtype=float)
    if len(at) != len(seen) or len(at) < 2:
        raise InputError("readings", msg("enter at least two pressures, each with its time"))
    if np.any(np.diff(at) <= 0.0):
        raise InputError("readings", msg("times must go up from one reading to the next"))
    if np.any(seen < 0.0) or np.any(seen > 2e5):
        raise InputError(
            "readings",
            msg("a pressure is outside {allowed}; is it in mbar or mTorr?", allowed=between(0.0, 2e5, "pressure", 0)),
        )
    return at, seen


def _fitted(at: Array, seen: Array, volume: float, resolution: float) -> tuple[Band, Band, Band | None]:
    """Return leak, vapour and the pressure that vapour rises by, from p = p0 + a t + b (1 - exp(-t/tau))."""
    from scipy.optimize import nnls

    span = at[-1] - at[0]
    since = at - at[0]
    noise = np.sqrt(resolution**2 / 12.0 + (GAUGE_ERROR * 0.3 * np.maximum(seen, resolution)) ** 2)
    trials = []
    for tau in np.geomspace(0.02 * span, 3.0 * span, LEVELS):
        shape = np.stack([np.ones_like(since), since, 1.0 - np.exp(-since / tau)], axis=1)
        found, missed = nnls(shape / noise[:, None], seen / noise)
        trials.append((tau, found, missed**2, shape / noise[:, None]))
    best = min(missed for _tau, _found, missed, _shape in trials)
    scale = max(best / max(len(at) - 4, 1), 1.0)
    draws = np.random.default_rng(1)
    slopes, rates, levels = [], [], []
    for tau, found, missed, shape in trials:
        count = round(400 * np.exp(-0.5 * (missed - best) / scale))
        if count == 0:
            continue
        cover = np.linalg.pinv(shape.T @ shape) * scale
        drawn = np.maximum(draws.multivariate_normal(found, cover, count, check_valid="ignore"), 0.0)
        slopes.append(drawn[:, 1])
        rates.append(drawn[:, 2] / tau)
        levels.append(drawn[:, 2])
    total = sum(len(part) for part in slopes)
    sizes = np.exp(VOLUME_ERROR * draws.standard_normal(total)) * volume
    return (
        band(np.concatenate(slopes) * sizes),
        band(np.concatenate(rates) * sizes),
        band(np.concatenate(levels)),
    )


def _verdict(leak: Band) -> str:
    if leak.high <= LEAK_REFERENCE:
        return "good"
    if leak.low > LEAK_REFERENCE:
        return "bad"
    return "watch" if leak.middle > LEAK_REFERENCE else "unclear"


def _words(leak: Band, vapour: Band) -> str:
    value = quantity(leak.middle, "leak")
    if vapour.middle > 2.0 * leak.middle:
        return msg(
            "Air leaks in at {leak}. Most of the early rise was water vapor, not a leak.",
            leak=spread_words(leak, value),
        )
    return msg("Air leaks in at {leak}.", leak=spread_words(leak, value))


def _to_do(verdict: str, leak: Band, vapour: Band) -> tuple[str, ...]:
    to_do: list[str] = []
    if vapour.middle > 2.0 * max(leak.middle, 1e-9) and verdict != "good":
        to_do.append(
            msg(
                "Defrost and dry the chamber, wipe the trap, and repeat the test. Moisture hides the "
                "real size of the leak."
            )
        )
    if verdict == "unclear":
        to_do.append(
            msg("Repeat with more readings over a longer time. A leak shows late, once the vapor has settled.")
        )
    if verdict in ("watch", "bad"):
        to_do += [
            msg("Clean the door gasket and its seat. Look for hairs, crumbs and cuts, and press the door on evenly."),
            msg("Close the drain valve tightly and check whether it drips or hisses."),
            msg("Check the hose, the clamps and the fitting at the pump. Repeat the test after each change."),
        ]
    return tuple(to_do)
