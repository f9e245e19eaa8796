"""Ice test: weighed trays of ice dry for some hours; what they lose tells how well heat gets into each tray."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drystow.constants import ICE_CONDUCTIVITY, ICE_DENSITY
from drystow.errors import InputError, check_range
from drystow.evidence.band import NINE_IN_TEN, Band
from drystow.evidence.machine_tests.outcome import MachineFinding, around, spread_words
from drystow.machine.profile import Dryer
from drystow.messages import listed, msg
from drystow.properties.water import TRIPLE_POINT_PRESSURE, ice_temperature, sublimation_heat
from drystow.shown import quantity

SHELF_ERROR, PRESSURE_ERROR, AREA_ERROR, TIME_ERROR, ABOVE_ERROR = 1.5, 0.1, 0.03, 300.0, 0.3
"""Standard deviations: shelf [K], pressure and area (relative) [-], time to warm up [s], heat from above [-].
Source: drystow-default."""

LEAST_LOST, MOST_LOST = 0.05, 0.5
"""Share of the ice that should be gone, so that the scale can tell and the ice still covers the tray [-].
Source: drystow-default."""

UNEVEN = 0.25
"""Positions that differ by more than this from their mean are named [-]. Source: drystow-default."""


@dataclass(frozen=True)
class IceTray:
    """A tray of plain ice.

    position: number of the tray from the top, from 1
    before: ice when the vacuum was on [kg]
    after: ice at the end [kg]
    area: that the ice covers [m2]
    resolution: of the scale [kg]
    """

    position: int
    before: float
    after: float
    area: float
    resolution: float = 0.001


def contact_transfer(tray: IceTray, duration: float, shelf: float, pressure: float, above: float) -> float:
    """Contact heat transfer from the shelf to a tray of ice [W/(m2 K)].

    tray: what was weighed
    duration: under vacuum with the shelf at its temperature [s]
    shelf: temperature of the shelf [K]
    pressure: in the chamber [Pa]
    above: heat transfer from the shelf above [W/(m2 K)]
    Valid: ice with a free surface, whose vapour pressure is the chamber's.
    Source: ice-sublimation-test, heat taken up by the ice that is gone, over area, time and temperature difference.

    >>> tray = IceTray(1, 1.0, 0.8, 0.16, 0.001)
    >>> print(f"{contact_transfer(tray, 4 * 3600.0, 273.15, 60.0, 3.5):.2f}")
    6.26
    """
    surface = float(ice_temperature(pressure))
    heat = (tray.before - tray.after) * float(sublimation_heat(surface)) / (tray.area * duration)
    from_below = heat - above * (shelf - surface)
    depth = 0.5 * (tray.before + tray.after) / (ICE_DENSITY * tray.area)
    base = surface + from_below * depth / ICE_CONDUCTIVITY
    if base >= shelf:
        return math.inf
    return from_below / (shelf - base)


def ice_test(trays: Sequence[IceTray], duration: float, shelf: float, pressure: float, dryer: Dryer) -> MachineFinding:
    """Return the contact heat transfer of each tray position, against the machine's own number at that pressure.

    trays: what was weighed, a row for each position
    duration: under vacuum with the shelf at its temperature [s]
    shelf: temperature of the shelf [K]
    pressure: in the chamber [Pa]
    dryer: the machine, with the numbers used so far
    """
    check_range("hours", duration / 3600.0, 0.5, 72.0, "h")
    check_range(
        "pressure",
        pressure,
        1.0,
        500.0,
        "Pa",
        msg(
            "ice melts above {pressure}, and no dryer runs that high",
            pressure=quantity(TRIPLE_POINT_PRESSURE, "pressure", 0),
        ),
    )
    surface = float(ice_temperature(pressure))
    check_range(
        "shelf", shelf, surface + 5.0, 340.0, "temperature", msg("the shelf must be well above the ice temperature")
    )
    if not trays:
        raise InputError("trays", msg("weigh at least one tray of ice"))
    values = {f"tray {tray.position}": _one(tray, duration, shelf, pressure, dryer.above) for tray in trays}
    middles = [band.middle for band in values.values()]
    mean = sum(middles) / len(middles)
    spread = sum((band.high - band.low) / (2 * NINE_IN_TEN) for band in values.values()) / len(values)
    expected = dryer.contact_constant + dryer.contact_gas * pressure / (1.0 + dryer.contact_saturation * pressure)
    values |= {"mean": around(mean, spread), "expected": Band(expected, expected, expected)}
    factor = mean / expected
    far = [tray.position for tray, one in zip(trays, middles, strict=True) if abs(one / mean - 1.0) > UNEVEN]
    verdict, to_do = _judged(factor, values["mean"], expected, far)
    return MachineFinding(
        "ice",
        values,
        verdict,
        msg(
            "Heat from shelf to tray measures {measured}; the number used so far is {expected}.",
            measured=spread_words(values["mean"], quantity(mean, "heat transfer")),
            expected=quantity(expected, "heat transfer"),
        ),
        to_do,
        {"contact_constant": dryer.contact_constant * factor, "contact_gas": dryer.contact_gas * factor},
        (
            msg("The ice was at {ice}, its temperature at this pressure.", ice=quantity(surface, "temperature")),
            msg("Heat from the shelf above uses the dryer's own number; this test does not measure it."),
        ),
        ("ice-sublimation-test", "murphy2005", "drystow-default"),
    )


def _one(tray: IceTray, duration: float, shelf: float, pressure: float, above: float) -> Band:
    where = f"tray {tray.position}"
    lost = tray.before - tray.after
    if not 0.0 < lost < tray.before:
        raise InputError(where, msg("the ice must weigh less afterward, and some must be left"))
    if not LEAST_LOST <= lost / tray.before <= MOST_LOST:
        raise InputError(
            where,
            msg(
                "{percent:.0f}% of the ice is gone. Only 5 to 50% tells enough, with ice still covering "
                "the tray; change the hours",
                percent=100.0 * lost / tray.before,
            ),
        )
    middle = contact_transfer(tray, duration, shelf, pressure, above)
    if not 0.0 < middle < 500.0:
        raise InputError(
            where,
            msg("no heat transfer fits these numbers; check weight, hours, shelf temperature and pressure"),
        )
    mass_error = tray.resolution * math.sqrt(2.0 / 12.0)
    changed = (
        contact_transfer(replace(tray, after=tray.after - mass_error), duration, shelf, pressure, above),
        contact_transfer(replace(tray, area=tray.area * (1 + AREA_ERROR)), duration, shelf, pressure, above),
        contact_transfer(tray, duration + TIME_ERROR, shelf, pressure, above),
        contact_transfer(tray, duration, shelf + SHELF_ERROR, pressure, above),
        contact_transfer(tray, duration, shelf, pressure * (1 + PRESSURE_ERROR), above),
        contact_transfer(tray, duration, shelf, pressure, above * (1 + ABOVE_ERROR)),
    )
    return around(middle, math.sqrt(sum((one - middle) ** 2 for one in changed)))


def _judged(factor: float, mean: Band, expected: float, far: list[int]) -> tuple[str, tuple[str, ...]]:
    to_do: list[str] = []
    verdict = "good"
    if far:
        verdict = "watch"
        to_do.append(
            msg(
                "Tray position {positions} differs a lot from the others. Check that the tray lies flat, "
                "that its bottom is not bent or iced, and that its shelf heats.",
                positions=listed(str(one) for one in far),
            )
        )
    if expected < mean.low or expected > mean.high:
        verdict = "watch" if 0.5 < factor < 2.0 else "bad"
        if factor < 1.0:
            to_do.append(
                msg(
                    "Less heat gets in than assumed, so runs take longer than forecast. Flatten bent trays, "
                    "clear ice and crumbs under them, leave out mats, and check the shelf thermometer."
                )
            )
        to_do.append(msg("Use the measured value for your dryer, so forecasts fit your trays."))
    return verdict, tuple(to_do)
