"""Keeping against storage studies, survival tables and the Food Code."""

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from drystow.foods.table import get
from drystow.keeping.food_code import LOWEST_ACTIVITY, NOT_TCS, tcs_class
from drystow.keeping.limits import colour, quality_table, speed_ratio
from drystow.keeping.shelf_life import thiamin_left
from drystow.keeping.survival import hepatitis_a_reduction, salmonella_reduction
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.packing.seasons import DAY, YEAR, constant
from tests.published.check import Check

CAN = 'dry_mass = "0.4 kg"\nresidual_moisture = "3%"\n[food]\nname = "Carrots, raw"\n[container]\nkind = "can-10"'


def in_step_colour() -> Iterator[Check]:
    pack = parse_pack(CAN)
    for name in ("Carrots, raw", "Potatoes, flesh and skin, raw", "Apples, raw, without skin"):
        for celsius, band in ((29.5, (0.0, 183.0)), (21.0, (730.0, inf)), (10.0, (730.0, inf))):
            store = constant(celsius + 273.15, 0.5)
            limit = colour(pack_batch(replace(pack, food=get(name), seasons=store)))
            assert limit is not None
            for case, life in (("early", limit.low), ("late", limit.high)):
                yield Check(
                    name=f"{name} with absorber at {celsius:g} °C, {case} darkening",
                    got=life / DAY,
                    expected=band,
                    unit="days",
                    source="usu-5494",
                    where="abstract: darken within 6 months at 29.5 °C, colour kept for 24 months at 10 and 21 °C; "
                    "the constants were chosen to meet this, so it is a condition kept, not a prediction",
                )
    for energy in quality_table()["browning"]["energy"]:
        yield Check(
            name="activation energy of browning",
            got=energy / 1000,
            expected=(105.0, 210.0),
            unit="kJ/mol",
            source="labuza1982",
            where="range for non-enzymatic browning",
            mark="memory",
        )
    for energy in quality_table()["eating"]["energy"]:
        yield Check(
            name="activation energy of eating quality",
            got=energy / 1000,
            expected=(40.0, 100.0),
            unit="kJ/mol",
            source="labuza1982",
            where="range for lipid oxidation",
            mark="memory",
        )


def compare_speed() -> Iterator[Check]:
    # chemists' rule of thumb, printed in every general text: about 53 kJ/mol doubles a rate from 25 to 35 °C
    yield Check(
        name="rate from 25 to 35 °C at 53 kJ/mol",
        got=speed_ratio(53e3, 308.15, 298.15),
        expected=2.0,
        tolerance=0.01,
        source="arrhenius",
        where="general chemistry texts, 'about 53 kJ/mol doubles the rate'",
        mark="memory",
        why="the rule is printed with two digits",
    )


def in_step_thiamin() -> Iterator[Check]:
    for food_class, lost in (("meat", 0.78), ("vegetable", 0.49)):
        left = thiamin_left(food_class, 50 * YEAR)
        assert left is not None
        yield Check(
            name=f"thiamin lost in 50 years, {food_class}",
            got=1 - left,
            expected=lost,
            tolerance=1e-9,
            source="byu-11075",
            where="abstract; the rate comes from this number, so this only checks that it is carried through",
            why="same number",
        )


def in_step_salmonella() -> Iterator[Check]:
    for celsius, activity, per_day in (
        (36, 0.17, 0.003),
        (36, 0.26, 0.005),
        (36, 0.33, 0.008),
        (36, 0.42, 0.010),
        (36, 0.52, 0.020),
        (50, 0.22, 0.06),
        (50, 0.58, 0.22),
    ):
        yield Check(
            name=f"Salmonella at {celsius} °C, water activity {activity}, log10 in 100 days",
            got=salmonella_reduction(activity, celsius + 273.15, 100 * DAY).log_reduction,
            expected=100 * per_day,
            tolerance=1e-6,
            source="farakos2013",
            where="table of rates",
            why="table value",
        )


def compare_hepatitis() -> Iterator[Check]:
    yield Check(
        name="hepatitis A virus on strawberry, drying (1 log) plus two months",
        got=1.0 + hepatitis_a_reduction(61 * DAY).log_reduction,
        expected=2.7,
        tolerance=0.2,
        kind="abs",
        unit="log10",
        source="hav-strawberry2021",
        where="abstract: at most 1 log in drying, at most 2.7 log with two months of storage",
        why="both printed with two digits, drying 'at most'",
    )


def in_step_food_code() -> Iterator[Check]:
    ok, assess = 1.0, 0.0
    table_a = {  # water activity: pH 4.6 or less, above 4.6 to 5.6, above 5.6
        0.80: (ok, ok, ok),
        0.92: (ok, ok, ok),
        0.921: (ok, ok, assess),
        0.95: (ok, ok, assess),
        0.951: (ok, assess, assess),
        0.99: (ok, assess, assess),
    }
    table_b = {  # below 4.2, 4.2 to 4.6, above 4.6 to 5.0, above 5.0
        0.60: (ok, ok, ok, ok),
        0.879: (ok, ok, ok, ok),
        0.88: (ok, ok, ok, assess),
        0.90: (ok, ok, ok, assess),
        0.901: (ok, ok, assess, assess),
        0.92: (ok, ok, assess, assess),
        0.921: (ok, assess, assess, assess),
        0.99: (ok, assess, assess, assess),
    }
    for letter, table, columns, heated in (
        ("A", table_a, (4.6, 5.6, 6.5), True),
        ("B", table_b, (4.1, 4.6, 5.0, 6.5), False),
    ):
        for activity, cells in table.items():
            for ph, expected in zip(columns, cells, strict=True):
                yield Check(
                    name=f"Food Code table {letter}, water activity {activity}, pH {ph}: 1 is not TCS",
                    got=1.0 if tcs_class(activity, ph, heated) == NOT_TCS else 0.0,
                    expected=expected,
                    tolerance=0.0,
                    kind="abs",
                    source="food-code",
                    where=f"1-201.10, interaction table {letter}",
                    why="a class, not a number",
                )


def in_step_growth() -> Iterator[Check]:
    for name, lowest in (
        ("Salmonella", 0.94),
        ("Listeria monocytogenes", 0.92),
        ("Staphylococcus aureus", 0.83),
        ("Escherichia coli, pathogenic", 0.95),
        ("Bacillus cereus", 0.92),
        ("Clostridium perfringens", 0.93),
        ("Clostridium botulinum, proteolytic", 0.935),
        ("Clostridium botulinum, non-proteolytic", 0.97),
        ("Vibrio parahaemolyticus", 0.94),
    ):
        yield Check(
            name=f"lowest water activity for {name}",
            got=LOWEST_ACTIVITY[name],
            expected=lowest,
            tolerance=0.0,
            kind="abs",
            source="fda-hazards-app4",
            where="table of limiting conditions",
            mark="memory",
            why="table value",
        )
