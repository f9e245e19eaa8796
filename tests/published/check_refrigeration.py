"""Refrigeration of the starting dryers against vapor-compression cycles computed by an independent library."""

from collections.abc import Iterator

import numpy as np
from CoolProp.CoolProp import PropsSI

from drystow.machine.profile import dryer_profile, profile_names
from tests.published.check import Check

CONDENSING, SUCTION = 40.0, 20.0  # rating point of small low-temperature compressors [°C]
REFRIGERANTS = ("R290", "R404A", "R507A")
CLEARANCE = (0.02, 0.04)  # dead space of a piston compressor, share of its stroke [-]
EFFICIENCY = (0.45, 0.65)  # of a small hermetic compressor with its motor, against isentropic work, ratio about 10 [-]


def cycle(refrigerant: str, evaporating: float, clearance: float) -> tuple[float, float, float]:
    """Return the cooling per ideal work, and cooling and ideal work per stroke, at an evaporating temperature."""
    low = PropsSI("P", "T", evaporating + 273.15, "Q", 1, refrigerant)
    high = PropsSI("P", "T", CONDENSING + 273.15, "Q", 0, refrigerant)
    drawn = ("P", low, "T", SUCTION + 273.15, refrigerant)
    liquid = PropsSI("H", "P", high, "Q", 0, refrigerant)
    work = PropsSI("H", "P", high, "S", PropsSI("S", *drawn), refrigerant) - PropsSI("H", *drawn)
    cooling = PropsSI("H", "P", low, "Q", 1, refrigerant) - liquid
    filled = 1.0 - clearance * ((high / low) ** (1 / 1.1) - 1.0)
    per_stroke = filled * PropsSI("D", *drawn)
    return cooling / work, per_stroke * cooling, per_stroke * work


def slopes() -> tuple[list[float], list[float]]:
    """Return the relative rise per kelvin, -45 to -25 °C against -35 °C, of cooling and of ideal work per stroke."""
    found: tuple[list[float], list[float]] = ([], [])
    for refrigerant in REFRIGERANTS:
        for clearance in CLEARANCE:
            cold, middle, warm = (cycle(refrigerant, t, clearance) for t in (-45.0, -35.0, -25.0))
            for number in (0, 1):
                found[number].append((warm[number + 1] - cold[number + 1]) / 20.0 / middle[number + 1])
    return found


def compare_refrigeration() -> Iterator[Check]:
    ideal = [cycle(refrigerant, -35.0, CLEARANCE[0])[0] for refrigerant in REFRIGERANTS]
    cooling, work = slopes()
    for name in profile_names():
        dryer = dryer_profile(name)
        assert np.isclose(dryer.refrigeration_reference, 238.15)
        yield Check(
            f"{name}: cooling per electricity at -35 °C",
            dryer.refrigeration / dryer.compressor_power,
            (EFFICIENCY[0] * min(ideal), EFFICIENCY[1] * max(ideal)),
            kind="band",
            source="coolprop-library",
            where="propane, R404A and R507A, condensing at 40 °C; 45 to 65% of the ideal cycle",
            mark="library",
            why="efficiency of small hermetic compressors from memory (unchecked); no table at -35 °C could be read",
        )
        yield Check(
            f"{name}: rise of the cooling per kelvin about -35 °C",
            dryer.refrigeration_slope,
            (min(cooling), max(cooling)),
            kind="band",
            unit="1/K",
            source="coolprop-library",
            where="vapor density and dead space of a piston compressor, -45 to -25 °C",
            mark="library",
            why="three refrigerants, dead space of 2 to 4%",
        )
        yield Check(
            f"{name}: rise of the compressor's draw per kelvin about -35 °C",
            dryer.compressor_slope,
            (0.5 * min(work), max(work)),
            kind="band",
            unit="1/K",
            source="coolprop-library",
            where="ideal work per stroke, -45 to -25 °C",
            mark="library",
            why="colder, the motor's own losses are a larger share, so the draw falls less than the ideal work",
        )
