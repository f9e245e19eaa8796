"""Packing against the standard atmosphere, gas properties, a textbook's permeabilities, an independent integrator."""

from collections.abc import Iterator
from math import pi

import numpy as np
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97
from scipy.integrate import solve_ivp

from drystow.packing.containers import CM3_PER_M2_DAY_ATM, containers, materials, pillow_volume
from drystow.packing.moisture import days_to_moisture, open_time_limit, permeance, time_to_moisture
from drystow.packing.oxygen import iron_capacity, oxygen_volume_ml, pressure_at_altitude
from drystow.packing.seasons import DAY, StoreSeason, constant
from drystow.properties.sorption import gab_water_activity
from tests.published.check import Check

GRAM_PER_DAY = 1e-3 / DAY


def compare_air_pressure() -> Iterator[Check]:
    for altitude in (0.0, 500.0, 1000.0, 1500.0, 2000.0, 3048.0):
        yield Check(
            name=f"air pressure at {altitude:.0f} m",
            got=pressure_at_altitude(altitude),
            expected=float(Atmosphere(altitude).pressure[0]),
            tolerance=5e-4,
            unit="Pa",
            source="us-standard-atmosphere",
            where="Python package ambiance 1.3",
            mark="library",
            why="the short formula takes geometric for geopotential height, 0.05% of the height at 3 km",
        )
    for altitude, pressure in ((1000.0, 89874.6), (2000.0, 79495.2), (3000.0, 70108.5)):
        yield Check(
            name=f"air pressure at {altitude:.0f} m, printed table",
            got=pressure_at_altitude(altitude),
            expected=pressure,
            tolerance=1e-5,
            unit="Pa",
            source="us-standard-atmosphere",
            where="table by geopotential altitude",
            mark="memory",
            why="six printed digits, constants of the formula rounded",
        )


def compare_iron() -> Iterator[Check]:
    for celsius in (0.0, 20.0, 25.0):
        temperature = celsius + 273.15
        per_kg_iron = 3 * PropsSI("M", "O2") / (4 * 0.055845)  # kg of oxygen per kg of iron, 3 O2 for 4 Fe
        yield Check(
            name=f"oxygen taken up by iron at {celsius:.0f} °C",
            got=iron_capacity(temperature, 101325.0) * 1000,
            expected=per_kg_iron / PropsSI("D", "T", temperature, "P", 101325.0, "O2") * 1000,
            tolerance=2e-3,
            unit="mL/g",
            source="iupac",
            where="density of real oxygen gas from CoolProp",
            mark="library",
            why="oxygen is not quite an ideal gas",
        )


def compare_cans() -> Iterator[Check]:
    yield Check(
        name="oxygen in an empty No. 10 can at sea level",
        got=oxygen_volume_ml(containers()["can-10"].inside, 0.0, 1500.0, 0.0, 296.15),
        expected=646.0,
        tolerance=0.02,
        unit="mL",
        source="packaging-trade",
        where="trade page on the No. 10 can",
        why="the page does not say its can volume or temperature",
    )
    yield Check(
        name="oxygen in a No. 10 can full of wheat (2.6 kg, kernels 1400 kg/m3)",
        got=oxygen_volume_ml(containers()["can-10"].inside, 2.6, 1400.0, 0.0, 296.15),
        expected=(161.0, 323.0),
        unit="mL",
        source="packaging-trade",
        where="trade page on seed-filled cans; wheat per can from memory",
        mark="memory",
    )
    for name, diameter, height, key in (
        ("No. 10 (603 × 700)", 6 + 3 / 16, 7.0, "can-10"),
        ("No. 2½ (401 × 411)", 4 + 1 / 16, 4 + 11 / 16, "can-2-5"),
    ):
        d, h = diameter * 0.0254, height * 0.0254
        box = containers()[key]
        yield Check(
            name=f"capacity of can {name} over its outer volume",
            got=box.inside / (pi / 4 * d * d * h),
            expected=(0.82, 1.0),
            source="packaging-recall",
            where="can size code: inches and sixteenths",
            mark="definition",
        )
        yield Check(
            name=f"surface of can {name}",
            got=box.area,
            expected=pi * d * h + pi / 2 * d * d,
            tolerance=0.02,
            unit="m2",
            source="packaging-recall",
            where="can size code: inches and sixteenths",
            mark="definition",
            why="rounded in the table",
        )


def compare_walls() -> Iterator[Check]:
    # textbook bands: cm3 mil/(100 in2 day atm), g mil/(100 in2 day); wall in mil (1 mil = 0.0254 mm)
    for key, mil, oxygen, vapour in (
        ("ldpe-bag", 2.7, (300, 600), (1, 2)),
        ("hdpe-wall", 1.9 / 0.0254, (100, 250), (0.3, 0.6)),
        ("pet-wall", 0.4 / 0.0254, (3, 6), (1, 2)),
    ):
        per_m2 = 1 / (100 * 0.0254**2)
        yield Check(
            name=f"oxygen through {materials()[key].name}",
            got=materials()[key].oxygen / CM3_PER_M2_DAY_ATM,
            expected=(oxygen[0] * per_m2 / mil, oxygen[1] * per_m2 / mil),
            unit="cm3/(m2 day atm)",
            source="biosystems-text",
            where="table 11.2",
        )
        yield Check(
            name=f"water vapour through {materials()[key].name}",
            got=materials()[key].vapour / GRAM_PER_DAY,
            expected=(vapour[0] * per_m2 / mil, vapour[1] * per_m2 / mil),
            unit="g/(m2 day)",
            source="biosystems-text",
            where="table 11.2",
        )


PER_100_IN2_DAY = 1 / (100 * 0.0254**2)
MIL = 25.4e-6


def compare_layers_in_series() -> Iterator[Check]:
    """Polyester of 12 µm on polyethylene of 50 µm, from the textbook's bands of each."""
    for what, got, polyester, polyethylene in (
        ("oxygen", materials()["clear"].oxygen / CM3_PER_M2_DAY_ATM, (3, 6), (300, 600)),
        ("water vapour", materials()["clear"].vapour / GRAM_PER_DAY, (1, 2), (1, 2)),
    ):
        low, high = (
            1 / (12e-6 / MIL / (outer * PER_100_IN2_DAY) + 50e-6 / MIL / (inner * PER_100_IN2_DAY))
            for outer, inner in zip(polyester, polyethylene, strict=True)
        )
        yield Check(
            name=f"{what} through {materials()['clear'].name}",
            got=got,
            expected=(low, high),
            unit="cm3/(m2 day atm)" if what == "oxygen" else "g/(m2 day)",
            source="biosystems-text",
            where="table 11.2, resistances of two layers added",
        )


def compare_foil() -> Iterator[Check]:
    for key in ("foil-7", "foil-5"):
        for what, got, bare, unit in (
            ("oxygen", materials()[key].oxygen / CM3_PER_M2_DAY_ATM, 0.0053, "cm3/(m2 day atm)"),
            ("water vapour", materials()[key].vapour / GRAM_PER_DAY, 0.01, "g/(m2 day)"),
        ):
            yield Check(
                name=f"{what} through {materials()[key].name}",
                got=got,
                expected=(bare, 0.031),
                unit=unit,
                source="packaging-trade",
                where="from bare foil of 25 µm and the best laminates to the limit that 7 µm are sold with",
            )


def compare_jars() -> Iterator[Check]:
    """Their names are measures, and a jar is about a cylinder, up to twice as high as wide."""
    for key, gallons in (
        ("jar-pint", 1 / 8),
        ("jar-quart", 1 / 4),
        ("jar-half-gallon", 1 / 2),
        ("jar-pet-half-gallon", 1 / 2),
        ("bucket-5-gallon", 5.0),
        ("bucket-5-gallon-liner", 5.0),
    ):
        box = containers()[key]
        yield Check(
            name=f"capacity of {box.name} over its name",
            got=box.inside / (gallons * 3.785412e-3),
            expected=(0.99, 1.12),
            source="packaging-recall",
            where="US gallon; to the brim up to an eighth more",
            mark="definition",
        )
        width = (4 * box.inside / pi) ** (1 / 3)  # of a cylinder as high as wide, which has the least surface
        loose = 1.6 if "liner" in key else 1.3
        yield Check(
            name=f"surface of {box.name} over that of the smallest cylinder",
            got=box.area / (1.5 * pi * width**2),
            expected=(1.0, loose),
            source="packaging-recall",
            where="geometry; necks, shoulders and gores add up to a third, the folds of a liner more",
            mark="definition",
        )


def compare_pillow() -> Iterator[Check]:
    yield Check(
        name="most that a square bag of 1 m holds",
        got=pillow_volume(1.0, 1.0),
        expected=0.2055,
        tolerance=0.09,
        unit="m3",
        source="pillow-numerics",
        where="numerical solution of the paper bag problem",
        mark="memory",
        why="the short formula is known to be lowest for a square",
    )


def compare_permeance() -> Iterator[Check]:
    saturated = IAPWS97(T=311.15, x=0).P * 1e6
    yield Check(
        name="permeance of a film with 40 g/(m2 day) at 38 °C and 90% RH",
        got=permeance(40 * GRAM_PER_DAY, 296.15),
        expected=40 * GRAM_PER_DAY / (0.9 * saturated),
        tolerance=1e-4,
        unit="kg/(m2 s Pa)",
        source="labuza-moisture",
        where="vapour pressure from the iapws package",
        mark="library",
        why="two implementations of the same release",
    )


def _integrate(rate: object, initial: float, critical: float, guess: float) -> float:
    def reached(_: float, moisture: np.ndarray) -> float:
        return float(moisture[0] - critical)

    reached.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(rate, (0, 50 * guess), [initial], events=reached, rtol=1e-9, atol=1e-12, max_step=guess / 20)
    return float(found.t_events[0][0])


MONOLAYER, C, K = 0.046, 10.6, 1.2


def _kiwi(moisture: float) -> float:
    return float(gab_water_activity(moisture, MONOLAYER, C, K))


def _kiwi_roots(moisture: float) -> float:
    """Return the inverse as the root of GAB's quadratic, written independently."""
    a, b, c = K / MONOLAYER * (1 / C - 1), (1 - 2 / C) / MONOLAYER - 1 / moisture, 1 / (MONOLAYER * C * K)
    return float(min(root.real for root in np.roots([a, b, c]) if root.real > 0))


def in_step_moisture_gain() -> Iterator[Check]:
    area, solids, initial, critical, slope, humidity = 0.12, 0.1, 0.02, 0.06, 0.20, 0.5
    outside = IAPWS97(T=296.15, x=0).P * 1e6
    tested = 0.9 * IAPWS97(T=311.15, x=0).P * 1e6
    for wvtr in (40.0, 8.6, 1.0, 0.03):
        conductance = wvtr * GRAM_PER_DAY / tested * area * outside / solids
        straight = days_to_moisture(
            wvtr * GRAM_PER_DAY, area, solids, initial, critical, slope * humidity, slope, 296.15
        )
        yield Check(
            name=f"moisture gain, straight isotherm, {wvtr:g} g/(m2 day)",
            got=straight,
            expected=_integrate(
                lambda _, m, c=conductance: c * (humidity - m / slope), initial, critical, straight * DAY
            )
            / DAY,
            tolerance=2e-4,
            unit="days",
            source="labuza-moisture",
            where="scipy.integrate.solve_ivp on the balance of water, iapws vapour pressures",
            mark="library",
            why="vapour pressures of two implementations",
        )
        ours = time_to_moisture(wvtr * GRAM_PER_DAY, area, solids, 0.02, 0.055, _kiwi, constant(296.15, humidity)).time
        yield Check(
            name=f"moisture gain, GAB isotherm of kiwifruit, {wvtr:g} g/(m2 day)",
            got=ours / DAY,
            expected=_integrate(lambda _, m, c=conductance: [c * (humidity - _kiwi_roots(m[0]))], 0.02, 0.055, ours)
            / DAY,
            tolerance=5e-4,
            unit="days",
            source="labuza-moisture",
            where="scipy.integrate.solve_ivp with GAB by numpy.roots",
            mark="library",
            why="vapour pressures of two implementations",
        )


def in_step_seasons() -> Iterator[Check]:
    seasons = (StoreSeason(180 * DAY, 298.15, 0.65), StoreSeason(185 * DAY, 283.15, 0.30))
    area, solids, slope, wvtr = 0.12, 0.1, 0.20, 0.4
    tested = 0.9 * IAPWS97(T=311.15, x=0).P * 1e6
    speed = [
        wvtr * GRAM_PER_DAY / tested * area * IAPWS97(T=season.temperature, x=0).P * 1e6 / solids for season in seasons
    ]

    def rate(time: float, m: np.ndarray) -> list[float]:
        which = 0 if time % (365 * DAY) < 180 * DAY else 1
        return [speed[which] * (seasons[which].humidity - m[0] / slope)]

    ours = time_to_moisture(wvtr * GRAM_PER_DAY, area, solids, 0.02, 0.08, lambda m: m / slope, seasons).time
    found = solve_ivp(
        rate, (0, 20 * 365 * DAY), [0.02], events=lambda t, m: m[0] - 0.08, rtol=1e-7, atol=1e-10, max_step=2 * DAY
    )
    yield Check(
        name="moisture gain over warm moist and cold dry seasons",
        got=ours / DAY,
        expected=float(found.t_events[0][0]) / DAY,
        tolerance=2e-3,
        unit="days",
        source="labuza-moisture",
        where="scipy.integrate.solve_ivp, steps of at most two days",
        mark="library",
        why="the integrator steps over the change of season by up to two days",
    )


def compare_open_food() -> Iterator[Check]:
    # evaporation rate of open water in still room air, common experience 0.05 to 0.15 kg/(m2 h)
    seconds = open_time_limit(1.0, 1.0, 0.1, 0.0, 294.15, 0.5)
    yield Check(
        name="vapour flow from still room air at 21 °C over 50% RH difference",
        got=0.1 / seconds * 3600,
        expected=(0.05, 0.15),
        unit="kg/(m2 h)",
        source="lewis-relation",
        where="indoor pools at rest lose about as much",
        mark="common practice",
    )
