"""Single sugars of foods, and the glass of sugars and juices, against what other authors measured."""

from collections.abc import Iterator
from typing import Any

from scipy.optimize import brentq

from drystow.foods.kinds import class_rows, relative_rows, table_of
from drystow.properties import glass
from drystow.properties.glass import gordon_taylor, gordon_taylor_constant
from drystow.properties.ice import sugar_split
from tests.published.check import Check
from tests.published.check_composition import INDIAN_TABLE, indian_rows, missing_table

HEXOSES = ("fructose", "glucose", "galactose")
KINDS = (
    # the Indian table parts fructose and glucose badly (apple has eight times as much), so their sum is compared
    ("berries", "strawberry", "fruit", ("E063", "E014"), 0.06),
    ("pome", "pear", "fruit", ("E051", "E001"), 0.12),
    ("banana", "banana", "fruit", ("E012",), 0.06),
    ("sucrose-rich", "peach", "fruit", ("E050", "E053"), 0.06),
    ("roots", "carrot", "vegetable", ("F002",), 0.13),
    ("fruit of no known kind", "", "fruit", ("E047", "E054", "E029", "E049", "E020", "E045", "E035"), 0.06),
    ("vegetables of no known kind", "", "vegetable", ("C015", "D036", "D031", "D049"), 0.06),
)


def compare_sugars_with_a_measured_table() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    rows = indian_rows()
    for name, kind, food_class, codes, tolerance in KINDS:
        shares = []
        for code in codes:
            sugars = {
                column: float(rows[code][column] or 0.0) for column in ("frus", "glus", "sucs", "mals", "lactose")
            }
            shares.append((sugars["frus"] + sugars["glus"]) / sum(sugars.values()))
        split = sugar_split(food_class, (kind,) if kind else ())
        yield Check(
            f"fructose and glucose among the sugars, {name}",
            sum(share for sugar, share in split.shares.items() if sugar in HEXOSES),
            sum(shares) / len(shares),
            tolerance,
            "abs",
            source="ifct2017",
            where=f"single sugars, codes {', '.join(codes)}",
            why="mean of the foods named; ripeness alone shifts a tenth",
        )


ACIDS = (
    ("sucrose-rich", "peach", "fruit", ("E039", "E050", "E053"), 0.2),
    ("pome", "pear", "fruit", ("E001", "E051"), 0.2),
    ("roots", "carrot", "vegetable", ("F001", "F002"), 0.3),
)


def compare_acids_with_a_measured_table() -> Iterator[Check]:
    if not INDIAN_TABLE.exists():
        yield missing_table()
        return
    rows = indian_rows()
    for name, kind, food_class, codes, tolerance in ACIDS:
        found = [
            sum(float(rows[code][acid] or 0.0) for acid in ("citac", "malac", "fumac", "quinac", "sucac", "tarac"))
            / float(rows[code]["choavldf"])
            for code in codes
        ]
        yield Check(
            f"organic acids per carbohydrate, {name}",
            sugar_split(food_class, (kind,)).acid,
            sum(found) / len(found),
            tolerance,
            source="ifct2017",
            where=f"citric, malic, fumaric, quinic, succinic and tartaric acid, codes {', '.join(codes)}",
            why="mean of few foods",
        )


def in_step_shares() -> Iterator[Check]:
    """The shares of the single sugars are shares of the whole."""
    families = table_of("relatives.toml")["family"]["sugars"]
    for name, row in (*((key, row["sugars"]) for key, row in class_rows().items()), *families.items()):
        yield Check(
            f"shares of the sugars, {name}",
            sum(row["shares"].values()),
            1.0,
            1e-6,
            source="definition",
            where="shares of a whole",
            mark="definition",
        )


SOLIDS_AT_THE_GLASS = 0.81
"""Sugars in the freeze-concentrate that is as dry as ice can make it: 80 to 82% by Roos (1993), from memory [-]."""

OTHER_ONSETS = {"fructose": -42.0, "glucose": -43.0, "galactose": -41.5, "sucrose": -32.0, "lactose": -28.0,
                "trehalose": -29.5, "starch": -5.0, "protein": -12.5}  # fmt: skip
ROOS_ONSETS = {"fructose": -46.0, "glucose": -46.0, "galactose": -45.0, "sucrose": -34.0, "lactose": -30.0,
               "trehalose": -30.0}  # fmt: skip


def _solutes() -> dict[str, dict[str, Any]]:
    table: dict[str, dict[str, Any]] = glass._table()["solute"]
    return table


def compare_glass_of_sugars() -> Iterator[Check]:
    for sugar, row in _solutes().items():
        if sugar in OTHER_ONSETS:
            yield Check(
                f"onset of melting of {sugar} by one school against the glass of the other",
                row["melting_onset"],
                OTHER_ONSETS[sugar],
                5.0,
                "abs",
                "°C",
                source="belitz",
                where="table 0.7, Levine and Slade",
                why="they name nearly the same point; it lies 0 to 4 K apart",
            )
        if sugar in ROOS_ONSETS:
            yield Check(
                f"glass of {sugar} by the one school against the onset of melting of the other",
                row["belitz_glass"],
                ROOS_ONSETS[sugar],
                5.0,
                "abs",
                "°C",
                source="roos1993",
                where="table of T'm",
                mark="memory",
                why="they name nearly the same point; it lies 0 to 4 K apart",
            )
        if sugar in ROOS_ONSETS or sugar == "maltose":
            solid, k = row["dry_glass"] + 273.15, row["k"]
            target = row["glass_onset"] + 273.15
            yield Check(
                f"solids at the glass onset of frozen {sugar} solution",
                1.0 - float(brentq(lambda w, s=solid, f=k, t=target: gordon_taylor(w, s, f) - t, 0.01, 0.9)),
                SOLIDS_AT_THE_GLASS,
                0.025,
                "abs",
                source="roos1993",
                where="solids of the maximally freeze-concentrated solution, 80 to 82%",
                mark="memory",
                why="two printed digits; dry glass, constant and onset of one table must meet there",
            )
    for sugar, dry, tolerance in (("sucrose", 60.0, 5.0), ("trehalose", 106.0, 5.0), ("fructose", 13.0, 9.0)):
        yield Check(
            f"dry glass of {sugar}, other authors",
            _solutes()[sugar]["dry_glass"],
            dry,
            tolerance,
            "abs",
            "°C",
            source="ijfp2006",
            where="table of dry glass points; fructose by extrapolation",
            why="spread between methods",
        )


def compare_constant_from_the_dry_glass() -> Iterator[Check]:
    """The regression on sugars, asked for berry fruit of which both numbers were measured."""
    for fruit, dry, k, source, mark in (
        ("kiwi", 40.3, 4.88, "moraga2006", "read"),
        ("raspberry", 42.6, 4.73, "syamaladevi2009", "memory"),
    ):
        yield Check(
            f"Gordon-Taylor constant of {fruit} from its dry glass",
            float(gordon_taylor_constant(dry + 273.15)),
            k,
            0.2,
            "abs",
            source=source,
            where="fit to the measured glass points",
            mark=mark,
            why="fits of the constant differ by 0.2",
        )


def compare_starch_and_gluten_in_water() -> Iterator[Check]:
    """Water at which they turn from glass to rubber in a room of 25 °C."""
    for name, expected, tolerance, source in (
        ("starch", 0.21, 0.02, "zeleznak1987"),
        ("protein", 0.14, 0.02, "hoseney1986"),
    ):
        row = _solutes()[name]
        yield Check(
            f"water that makes {name} soft at 25 °C",
            float(brentq(lambda w, r=row: gordon_taylor(w, r["dry_glass"] + 273.15, r["k"]) - 298.15, 0.01, 0.9)),
            expected,
            tolerance,
            "abs",
            source=source,
            where="glass transition against moisture",
            mark="memory",
            why="read off a curve",
        )


# Points of frozen foods that two independent groups measured; the row carries one of them.
TWICE = (
    ("kiwi", "melting_onset", -41.8, 6.0, "wang2008", "read"),
    ("kiwi", "glass_onset", -57.1, 6.0, "wang2008", "read"),
    ("apple", "melting_onset", -40.0, 6.0, "levine-slade1989", "memory"),
    ("tomato", "melting_onset", -41.0, 5.0, "bellows-king1973", "memory"),
    ("potato", "melting_onset", -12.0, 5.0, "levine-slade1989", "memory"),
    ("ice cream", "melting_onset", -32.0, 2.0, "levine-slade1989", "memory"),
    ("coffee", "collapse", -20.0, 5.0, "bellows-king1973", "memory"),
    ("grape juice", "collapse", -42.0, 6.0, "levine-slade1989", "memory"),
    ("apple juice", "collapse", -40.0, 6.0, "levine-slade1989", "memory"),
    ("pineapple juice", "collapse", -37.0, 6.0, "levine-slade1989", "memory"),
    ("pineapple juice", "glass_onset", -41.5, 6.0, "bellows-king1973", "memory"),
    ("prune juice", "collapse", -41.0, 7.0, "levine-slade1989", "memory"),
    ("prune juice", "glass_onset", -35.0, 7.0, "bellows-king1973", "memory"),
    ("lemon juice", "collapse", -43.0, 7.0, "levine-slade1989", "memory"),
    ("lemon juice", "glass_onset", -36.5, 7.0, "bellows-king1973", "memory"),
    ("beef", "melting_onset", -13.5, 5.0, "belitz", "read"),
    ("tomato juice", "collapse", -41.5, 5.0, "belitz", "read"),
    ("orange juice", "collapse", -37.5, 14.0, "levine-slade1989", "memory"),
    ("orange juice", "glass_onset", -24.0, 14.0, "bellows-king1973", "memory"),
    ("grapefruit juice", "collapse", -24.0, 8.0, "bellows-king1973", "memory"),
    ("strawberry", "melting_onset", -37.0, 5.0, "belitz", "read"),
    ("beef", "collapse", -12.0, 5.0, "fellows", "memory"),
    ("raspberry", "dry_glass", 40.3, 6.0, "moraga2006", "read"),
    ("kiwi", "dry_glass", 42.6, 6.0, "syamaladevi2009", "memory"),
    ("raspberry", "k", 4.88, 1.0, "moraga2006", "read"),
    ("kiwi", "k", 4.73, 1.0, "syamaladevi2009", "memory"),
)


def compare_points_measured_twice() -> Iterator[Check]:
    for kind, point, expected, tolerance, source, mark in TWICE:
        yield Check(
            f"{point.replace('_', ' ')} of {kind}, another group",
            relative_rows()[kind]["glass"][point],
            expected,
            tolerance,
            "abs",
            "" if point == "k" else "°C",
            source=source,
            where="the same food or juice; grapefruit: orange juice; beef: gelatin; strawberry: middle of its range; "
            "dry glass and constant: another berry fruit",
            mark=mark,
            why="collapse lies up to a few kelvin from the glass of the frozen juice; spread between methods",
        )
