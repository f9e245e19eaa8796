"""Measured drying times of fruit, whose thickness nobody wrote down.

No published drying time was found with thickness, pressure, temperatures and time all together. Each measured time
therefore leaves one thing free (a thickness), which is fitted once and said here; what is checked is the rest.
"""

from collections.abc import Iterator
from math import log2
from typing import Any

from scipy.optimize import brentq

from drystow.machine.result import LoadResult
from drystow.machine.run import simulate
from tests.loads import held, machine
from tests.published.check import Check

HOUR = 3600.0
APPLE, BANANA, STRAWBERRY = "Apples, raw, without skin", "Bananas, raw", "Strawberries, raw"


def compare_apple_slices() -> Iterator[Check]:
    """660 min with the shelf at 30 °C, 1305 min with the shelf raised in steps (-20, 10, 20, 30 °C), 63 Pa.

    The abstract gives neither thickness nor final moisture nor the length of the steps: 5% and 6 h for each of the
    first three are assumed, one thickness is fitted to the 660 min. (With 4% the fit is 3.6 mm, with 6% 5.1 mm: most
    of the time goes into the last bound water.)
    """

    def run(size: float, steps: tuple[str, ...]) -> float:
        row = _slices(APPLE, size, final_moisture="5%")
        # chamber at 63 Pa, most of it dry gas, as a pump with a gas valve holds it
        result = simulate(
            machine(row, shelf=steps, profile="bench-4", ultimate_pressure="51.5 Pa", pressure_limit="0 Pa"),
            series=False,
        )
        return result.total_time - result.drying_start

    warm = ("30 degC until dry",)
    thickness = float(brentq(lambda size: run(size, warm) - 660 * 60, 2.0, 12.0, xtol=1e-3))
    yield Check(
        "apple slice that dries in 660 min at 30 °C and 63 Pa",
        thickness,
        (4.0, 15.0),
        kind="band",
        unit="mm",
        source="jakubczyk2024",
        where="abstract; slices are cut 4 to 15 mm thick (common practice)",
        why="the thickness is fitted, it must be a possible slice",
    )
    stepped = run(thickness, ("-20 degC for 6 h", "10 degC for 6 h", "20 degC for 6 h", *warm))
    yield Check(
        "apple slices, shelf raised in steps against 30 °C throughout",
        stepped / (660 * 60),
        1305 / 660,
        0.20,
        unit="ratio of times",
        source="jakubczyk2024",
        where="abstract, 1305 and 660 min",
        why="known mismatch: 1.7; thickness fitted to the shorter time, length of the steps assumed",
    )


def compare_fruit_slices() -> Iterator[Check]:
    """Apple, banana and strawberry slices at 40 °C and 30 Pa to 4% water: 12, 6.8 and 8.7 h; thickness unknown.

    One thickness is fitted to the strawberry. Permeabilities of apple and banana from the published table (karel1975).
    """

    def run(food: str, size: float, permeability: float | None = None) -> tuple[float, float]:
        layer = {} if permeability is None else {"dried_layer": {"A1": f"{1 / permeability} 1/s"}}
        result = simulate(
            held(_slices(food, size, final_moisture="4%", **layer), shelf="40 degC", pressure="30 Pa"), series=False
        )
        return _ice_gone(result) / HOUR, result.total_time / HOUR

    thickness = float(brentq(lambda size: run(STRAWBERRY, size)[1] - 8.7, 2.0, 12.0, xtol=1e-3))
    yield Check(
        "strawberry slice that dries in 8.7 h at 40 °C and 30 Pa",
        thickness,
        (3.0, 15.0),
        kind="band",
        unit="mm",
        source="reale2023",
        where="abstract",
        why="the thickness is fitted, it must be a possible slice",
    )
    apple, banana, strawberry = (
        run(APPLE, thickness, 4.5e-8),
        run(BANANA, thickness, 1.1e-8),
        run(STRAWBERRY, thickness),
    )
    yield Check(
        "banana against strawberry slices, time until the ice is gone",
        banana[0] / strawberry[0],
        (0.5, 0.99),
        kind="band",
        unit="ratio of times",
        source="reale2023",
        where="abstract: banana sublimes fastest",
        why="only the order is published",
    )
    yield Check(
        "banana against strawberry slices, total time",
        banana[1] / strawberry[1],
        (0.65, 0.99),
        kind="band",
        unit="ratio of times",
        source="reale2023",
        where="abstract, 6.8 and 8.7 h: 0.78",
        why="order only; the class gives all fruit one rate of desorption, which takes most of the time",
    )
    yield Check(
        "apple against strawberry slices, total time",
        apple[1] / strawberry[1],
        (0.90, 1.60),
        kind="band",
        unit="ratio of times",
        source="reale2023",
        where="abstract, 12 and 8.7 h: 1.38",
        why="known mismatch: equal thickness is assumed and apple holds less water, so the model has it no slower than "
        "strawberry; cell membranes that hold vapour back in sliced apple are not in its published permeability",
    )


def compare_strawberry_plate() -> Iterator[Check]:
    """Plate raised from 30 to 70 °C: whole fruit 48 to 36 h, slices 12 to 8 h; pressure and sizes unknown (50 Pa).

    Whole fruit 29 mm and slices 4.7 mm thick are fitted to the times at 30 °C.
    """

    def run(plate: float, size: float, **changes: Any) -> float:
        row = _slices(STRAWBERRY, size, final_moisture="4%", **changes)
        return simulate(held(row, shelf=f"{plate} degC", pressure="50 Pa"), series=False).total_time

    for what, slow, fast, possible, changes in (
        ("whole strawberries", 48.0, 36.0, (20.0, 40.0), {"shape": "sphere", "mass": "1 kg"}),
        ("strawberry slices", 12.0, 8.0, (3.0, 15.0), {}),
    ):
        size = float(brentq(lambda s, c=changes, t=slow: run(30.0, s, **c) / HOUR - t, 2.0, 50.0, xtol=1e-3))  # type: ignore[misc]
        yield Check(
            f"size of {what} that dry in {slow:.0f} h at a plate of 30 °C",
            size,
            possible,
            kind="band",
            unit="mm",
            source="amrani",
            where="abstract",
            why="the size is fitted, it must be a possible one",
        )
        yield Check(
            f"{what}, plate at 70 against 30 °C",
            run(70.0, size, **changes) / (slow * HOUR),
            (0.40, 0.85),
            kind="band",
            unit="ratio of times",
            source="amrani",
            where=f"abstract, {slow:.0f} to {fast:.0f} h: {fast / slow:.2f}",
            why="known mismatch: the model, limited by heat, gains more (0.4 to 0.6) from a plate that is 40 K warmer "
            "for the whole run; machine, pressure and how the plate was raised are not in the abstract",
        )


def in_step_thickness_law() -> Iterator[Check]:
    yield Check(
        "exponent of depth in the drying time of a bed on a warm plate",
        log2(_bed(40.0) / _bed(20.0)),
        (1.0, 2.0),
        kind="band",
        unit="-",
        source="drying-notes",
        where="linear when the plate's heat controls, square when the dried layer does",
        mark="definition",
        why="both limits stand in tests/laws",
    )


def compare_thick_bed() -> Iterator[Check]:
    """Strawberry pieces in a thick layer (30 Pa, plate 50 °C, 60 to 65 h): the depth is not published."""
    yield Check(
        "depth of a strawberry bed that dries in 62 h",
        float(brentq(lambda size: _bed(size) / HOUR - 62.5, 10.0, 120.0, xtol=1e-2)),
        (20.0, 85.0),
        kind="band",
        unit="mm",
        source="hammami1997",
        where="abstract, 60 to 65 h at 30 Pa and 50 °C",
        why="known mismatch: the same group loaded 17 kg/m2 of apple, 20 to 30 mm, so this layer hardly had 50; "
        "the bed dries too fast here, for heat reaches all of it from the plate as through solid ice",
    )


def _bed(size: float) -> float:
    row = _slices(STRAWBERRY, size, mass=f"{size * 0.06} kg")  # a bed with gaps, 600 kg/m3
    return _ice_gone(simulate(held(row, shelf="50 degC", pressure="30 Pa"), series=False))


def _slices(food: str, size: float, **changes: Any) -> dict[str, Any]:
    """One layer of slices on 0.1 m2, its dried layer and its heat by class and dryer."""
    row = {"food": food, "mass": f"{size * 0.09} kg", "shape": "slab", "size": f"{size} mm", "area": "0.1 m^2"}
    return {**row, "frozen": True, "start_temperature": "-20 degC", **changes}


def _ice_gone(result: LoadResult) -> float:
    end = result.trays[0].primary_end
    assert end is not None
    return end - result.drying_start
