"""Rehydration against a federal test, a package's directions and storage abstracts; cooking temperatures."""

from collections.abc import Iterator

from drystow.serving.cautions import COOKING_TARGETS
from drystow.serving.rehydration import fresh_equivalent, rehydration_time, water_to_add, weibull_uptake
from tests.published.check import Check


def compare_water() -> Iterator[Check]:
    yield Check(
        name="water for 23 g of non-fat milk powder, up to a cup of skim milk",
        got=fresh_equivalent(0.023, 0.0396, 0.908) * 1000,
        expected=245.0,
        tolerance=0.05,
        unit="g",
        source="milk-powder-package",
        where="1/3 cup of powder makes one cup",
        mark="memory",
        why="household measure",
    )
    for moisture in (0.05, 0.065, 0.08):
        dry = 0.028 / (1 - moisture)  # 28 g of dry solids
        yield Check(
            name=f"water for the bell pepper test at {moisture:.1%} moisture fits into its 473 mL",
            got=water_to_add(dry, moisture, 0.9219) * 1000,
            expected=(237.0, 473.0),
            unit="g",
            source="cid-pepper",
            where="28 g of dry solids in 473 mL of water; at least half of it should be needed",
        )


def compare_times() -> Iterator[Check]:
    yield Check(
        name="diced vegetables in cold water are done within the federal test's 2 h",
        got=rehydration_time("vegetable", 0.01, False).high,
        expected=(0.0, 7200.0),
        unit="s",
        source="cid-pepper",
        where="rehydration test, 2 to 13 °C for 2 h",
    )
    fruit = rehydration_time("fruit", 0.01, False)
    yield Check(
        name="share of the uptake of freeze-dried fruit in 30 s",
        got=float(weibull_uptake(30.0, fruit.alpha, fruit.beta)),
        expected=(0.5, 1.0),
        source="rehydration-fruit2006",
        where="abstract: most of the uptake within the first 30 s",
    )


def in_step_cooking() -> Iterator[Check]:
    for kind, fahrenheit in (
        ("poultry", 165),
        ("leftovers and dishes", 165),
        ("ground meat", 160),
        ("egg dishes", 160),
        ("whole cuts of meat", 145),
        ("fish and shellfish", 145),
    ):
        target = next(target for target in COOKING_TARGETS if target.kind == kind)
        yield Check(
            name=f"safe temperature of {kind}",
            got=(target.temperature - 273.15) * 1.8 + 32,
            expected=float(fahrenheit),
            tolerance=0.1,
            kind="abs",
            unit="°F",
            source="cooking-chart",
            where="chart of safe minimum internal temperatures",
            why="kept in °C with one digit",
        )
