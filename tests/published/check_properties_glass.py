"""Glass and front limits of real foods, computed from their make-up; none of the rows used has the measured number."""

from collections.abc import Iterator
from dataclasses import replace

from drystow.foods.model import Composition
from drystow.foods.table import get
from drystow.properties.glass import collapse_limits, dry_glass_temperature, tried_limit
from drystow.properties.water import ice_temperature
from tests.published.check import Check
from tests.published.compositions import SAMPLES

CELSIUS = 273.15
MIXING = "stated error of the mixing rule; the number had no part in it"


def without_pulp(composition: Composition) -> Composition:
    """Return what is left of a fruit when its cell walls and protein are filtered off."""
    left = composition.water + composition.carbohydrate + composition.ash
    parts = {part: getattr(composition, part) / left for part in ("water", "carbohydrate", "ash", "sugars", "salt")}
    return replace(composition, **parts, protein=0.0, fat=0.0, fibre=0.0)


def compare_dry_glass() -> Iterator[Check]:
    food = get("Mangos, raw")
    mango, like = food.composition, food.like
    for name, made_of, expected in (
        ("mango with its pulp", mango, 49.0),
        ("the solutes of mango", without_pulp(mango), 32.0),
    ):
        yield Check(
            f"glass transition of {name}, dry, computed from its make-up",
            dry_glass_temperature(made_of, "fruit", like) - CELSIUS,
            expected,
            10.0,
            "abs",
            "°C",
            source="fongin",
            where="abstract",
            why=MIXING,
        )
    yield Check(
        "how far its pulp raises the glass transition of dry mango",
        dry_glass_temperature(mango, "fruit", like) - dry_glass_temperature(without_pulp(mango), "fruit", like),
        17.0,
        12.0,
        "abs",
        "K",
        source="fongin",
        where="abstract: 32 and 49 °C",
        why="known mismatch: only what dissolves of the pulp is counted; the rest is a phase of its own (aguilera1998)",
    )
    # Three laboratories: 4.5 and 11 °C read, 41.3 from memory. Drying over phosphorus pentoxide leaves some water.
    yield Check(
        "glass transition of dry apple, computed from its make-up",
        dry_glass_temperature(SAMPLES["apple"].composition, "fruit") - CELSIUS,
        (4.5, 41.3),
        kind="band",
        unit="°C",
        source="aguilera1998",
        where="abstract: 11 °C; welti-chanes1999 4.5 °C, bai2001 41.3 °C (memory)",
        why="laboratories disagree by 37 K",
    )
    yield Check(
        "glass transition of dry raspberry, computed from its make-up",
        dry_glass_temperature(SAMPLES["raspberry"].composition, "fruit") - CELSIUS,
        42.6,
        16.0,  # known mismatch: half of its solids are fibre, much of it in seeds that dissolve less than cell walls
        "abs",
        "°C",
        source="syamaladevi2009",
        where="constants",
        mark="memory",
        why="known mismatch: fiber of its seeds counts like that of cell walls",
    )
    yield Check(
        "glass transition of dry milk, computed from its make-up",
        dry_glass_temperature(SAMPLES["milk"].composition, "dairy") - CELSIUS,
        101.0,
        4.0,
        "abs",
        "°C",
        source="roos1993",
        where="lactose: 101 °C; another fit gives 97 °C",
        mark="memory",
        why="milk follows its lactose, protein is a phase of its own (roos2002)",
    )


def in_step_pectin() -> Iterator[Check]:
    yield Check(
        "dry kiwifruit, to which the glass transition of dissolved cell walls was fitted",
        dry_glass_temperature(SAMPLES["kiwi"].composition, "fruit") - CELSIUS,
        40.3,
        1.0,
        "abs",
        "°C",
        source="moraga2006",
        where="abstract",
        why="fitted",
    )


def in_step_banana() -> Iterator[Check]:
    banana = get("Bananas, raw")
    yield Check(
        "limit of banana pieces: ice at the highest pressure they were dried at",
        collapse_limits(banana.composition, banana.food_class, banana.like).collapse - CELSIUS,
        float(ice_temperature(267.0)) - CELSIUS,
        0.3,
        "abs",
        "°C",
        source="khampakool",
        where="table: 267 Pa",
        why="the share of liquid was worked out for this food",
    )


# Pieces of plants that were freeze-dried where juice of the same fruit collapses: their front was warmer than ice at
# the pressure of the chamber. A limit below that would call a published run of good pieces too warm.
def compare_limits_of_pieces() -> Iterator[Check]:
    for name, pressure, source, where in (
        ("Strawberries, raw", 30.0, "hammami1997", "abstract: best shape, color and texture at 30 Pa and 50 °C"),
        ("Apples, raw, without skin", 165.0, "jakubczyk2024", "abstract: slices at 37 to 165 Pa"),
        ("Mushrooms, white, raw", 100.0, "pei", "methods: slices at 100 Pa, 40 °C"),
        ("Mangos, raw", 35.0, "suherman2021", "abstract: slices at 25 to 35 Pa"),
    ):
        food = get(name)
        limits = collapse_limits(food.composition, food.food_class, food.like)
        yield Check(
            f"limit of pieces, {food.name}: warmer than ice at the {pressure:g} Pa of a published run",
            limits.collapse - CELSIUS,
            (float(ice_temperature(pressure)) - CELSIUS, 0.0),
            kind="band",
            unit="°C",
            source=source,
            where=where,
            why="the front is warmer than ice at the chamber's pressure, so this is a lower bound",
        )
    yield Check(
        "limit of potato pieces by the rule for all plants, against the warmest front that served",
        tried_limit(CELSIUS - 0.6) - CELSIUS,
        (-50.0, -1.5),
        kind="band",
        unit="°C",
        source="fd-encyclopedia",
        where="potato: front up to -1.5 °C",
        why="the rule must stay on the careful side of a measured limit",
    )
    corn = get("Corn, sweet, yellow, raw")
    yield Check(
        "limit of sweet corn by the rule for all plants, against its collapse",
        collapse_limits(corn.composition, corn.food_class, corn.like).collapse - CELSIUS,
        (-15.0, -8.0),
        kind="band",
        unit="°C",
        source="bellows-king1973",
        where="collapse of sweet corn, -8 to -15 °C",
        mark="memory",
        why="range as tabled",
    )
    yield Check(
        "limit of fruit pieces, against where four plants were tried",
        tried_limit(CELSIUS - 1.1) - CELSIUS,
        (-50.0, -5.0),
        kind="band",
        unit="°C",
        source="krokida1998",
        where="abstract: apple, banana, carrot, potato at -50 to -5 °C, porosity 95 to 70%",
        why="no warmer than anybody tried",
    )


# What no cells hold together: collapse measured in clear juices, against the onset of melting of their make-up.
def compare_limits_of_juices() -> Iterator[Check]:
    for name, expected in (("Apple juice, 100%", -41.5), ("Grape juice, 100%", -46.0)):
        juice = get(name)
        yield Check(
            f"collapse of {juice.name.split(',')[0].lower()}, computed from its make-up",
            collapse_limits(juice.composition, "liquid").collapse - CELSIUS,
            expected,
            4.0,
            "abs",
            "°C",
            source="fd-encyclopedia" if "Grape" in name else "bellows-king1973",
            where="collapse temperatures of juices",
            mark="read" if "Grape" in name else "memory",
            why="collapse lies 0 to 3 K above the onset of melting",
        )
