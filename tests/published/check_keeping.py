"""Keeping against storage studies, survival tables and the Food Code."""

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from drystow.drying.layer import target_moisture
from drystow.foods.table import get
from drystow.keeping.browning import browning_water_speed
from drystow.keeping.fat import fat_water_speed
from drystow.keeping.food_code import LOWEST_ACTIVITY, NOT_TCS, tcs_class
from drystow.keeping.limits import BROWNING, COLOR, Limit, quality_table
from drystow.keeping.shelf_life import KeepingResult, shelf_life
from drystow.keeping.speed import speed_ratio
from drystow.keeping.survival import hepatitis_a_reduction, salmonella_reduction
from drystow.keeping.vitamins import thiamin_left
from drystow.packing.packfile import parse_pack
from drystow.packing.plan import pack_batch
from drystow.packing.seasons import DAY, YEAR, constant
from drystow.properties.sorption import isotherm_for, moisture_at
from tests.published.check import Check

CAN = 'dry_mass = "0.4 kg"\nresidual_moisture = "3%"\n[food]\nname = "Carrots, raw"\n[container]\nkind = "can-10"'


def keep(name: str, celsius: float = 21.0, moisture: float | None = None, absorbers: bool = True) -> KeepingResult:
    """How long a food of the table keeps in a can; as dry as usual where no moisture is said."""
    food, pack = get(name), parse_pack(CAN)
    moisture = min(target_moisture(food), food.composition.water) if moisture is None else moisture
    store = constant(celsius + 273.15, 0.5)
    return shelf_life(
        pack_batch(replace(pack, food=food, residual_moisture=moisture, seasons=store, absorbers=absorbers))
    )


def limit_of(result: KeepingResult, name: str) -> Limit:
    """The limit of this name."""
    return next(limit for limit in result.limits if limit.name == name)


def as_dry_as_studied(name: str) -> float:
    """Moisture at the water activity of the canned foods of the studies, wet basis [-]."""
    held = float(moisture_at(isotherm_for(get(name)), quality_table()["browning"]["activity"]))
    return held / (1 + held)


RICE, BROWN_RICE, PASTA = "Rice, white, cooked, glutinous", "Rice, brown, cooked, NS as to fat", "Pasta, cooked"
OATS, POTATO, CARROT = "Oat bran, cooked", "Potatoes, flesh and skin, raw", "Carrots, raw"
APPLE, MILK, SKIM = "Apples, raw, without skin", "Milk, whole", "Milk, dry, reconstituted, nonfat"
EGG, STEW, LEAN, FATTY = (
    "Egg, whole, raw",
    "Stew, beef",
    "Beef, steak, round",
    "Beef, ground, 80% lean meat / 20% fat, raw",
)


def compare_order() -> Iterator[Check]:
    """The careful end of one food over that of another: the order in which studies and extension tables have them."""
    for longer, shorter, source, where, mark in (
        (RICE, PASTA, "byu-staples", "rice more than 30 years, macaroni up to 30", "read"),
        (RICE, POTATO, "byu-rice", "liking of rice does not fall; byu-potato: every day only to 5 years", "read"),
        (RICE, BROWN_RICE, "usu-storage", "the oil of brown rice turns rancid, a few months", "read"),
        (PASTA, EGG, "byu-staples", "macaroni up to 30 years, dried eggs a couple of years", "read"),
        (POTATO, EGG, "byu-staples", "potato flakes up to 30 years, dried eggs a couple of years", "read"),
        (CARROT, EGG, "byu-carrot", "eaten up to 34 years old; byu-staples: dried eggs a couple of years", "read"),
        (APPLE, EGG, "byu-staples", "dried apples up to 30 years, dried eggs a couple of years", "read"),
        (
            SKIM,
            MILK,
            "byu-milk",
            "as good as fresh at 23 years; lloyd2009: whole milk powder 6 to 9 months in air",
            "read",
        ),
        (SKIM, EGG, "byu-staples", "non-fat dry milk about 20 years, dried eggs a couple of years", "read"),
        (CARROT, LEAN, "jerky-times", "jerky 1 to 2 months; nchfp-storage: dried vegetables 3 to 6 months", "read"),
        (APPLE, LEAN, "jerky-times", "jerky 1 to 2 months; nchfp-storage: dried fruit 6 to 12 months", "read"),
        (LEAN, FATTY, "wflo-meats", "rancidity is what ends the keeping of meat, by its fat", "read"),
        (POTATO, "Strawberries, raw", "nchfp-storage", "general: sugary fruit browns before starch", "memory"),
    ):
        yield Check(
            name=f"how much longer keeps '{longer}' than '{shorter}'",
            got=keep(longer).low / keep(shorter).low,
            expected=(1.1, inf),
            source=source,
            where=where,
            mark=mark,
        )
    yield Check(
        name="dried fruit keeps how many times as long as vegetables, apple and carrot",
        got=keep(APPLE).low / keep(CARROT).low,
        expected=(0.7, 3.0),
        source="nchfp-storage",
        where="vegetables have about half the shelf life of fruits",
        why="known mismatch: apple comes out a little shorter, since both brown by sugar times protein, and nothing "
        "is known here of what else ends dried vegetables",
    )


def compare_end_points() -> Iterator[Check]:
    """Printed ends of good eating that no constant was chosen with."""
    for name, celsius, absorbers, end, band, source, where in (
        (PASTA, 21, True, "high", (15, inf), "byu-staples", "macaroni up to 30 years, packed to remove oxygen"),
        (APPLE, 21, True, "high", (20, inf), "byu-staples", "dried apples up to 30 years, packed to remove oxygen"),
        (SKIM, 21, True, "low", (15, 25), "byu-staples", "non-fat dry milk to about 20 years"),
        (EGG, 21, True, "low", (0.5, 2.5), "byu-staples", "dried eggs should be used within a couple of years"),
        (RICE, 21, False, "low", (0.0, 2.0), "jerky-times", "rice in the pantry 2 years: the careful end is not later"),
        (RICE, 21, False, "high", (2.0, inf), "jerky-times", "rice in the pantry 2 years"),
        (PASTA, 21, False, "low", (0.0, 2.0), "jerky-times", "dried pasta in the pantry 2 years: not later"),
        (STEW, 37.8, False, "central", (0.0, 24 / 52), "natick-oxygen", "fell in flavor within 24 weeks in air"),
        (MILK, 23, True, "low", (1.0, inf), "lloyd2009", "no painty flavor within a year in nitrogen"),
        (
            LEAN,
            21,
            False,
            "low",
            (0.0, 2 / 12),
            "jerky-times",
            "jerky 1 to 2 months in air: the careful end is not later",
        ),
        (LEAN, 21, False, "high", (1 / 12, inf), "jerky-times", "jerky 1 to 2 months in air"),
    ):
        result = keep(name, float(celsius), absorbers=absorbers)
        yield Check(
            name=f"years that '{name}' keeps at {celsius:g} °C {'without oxygen' if absorbers else 'in air'}, {end}",
            got=getattr(result, end) / YEAR,
            expected=band,
            unit="years",
            source=source,
            where=where,
        )


def compare_browning_in_the_warmth() -> Iterator[Check]:
    """The years of browning were chosen at 21 °C; the energies that carry them are those of other studies."""
    for name, most, why in (
        (APPLE, 183.0, ""),
        (CARROT, 183.0, ""),
        (
            POTATO,
            320.0,
            "known mismatch: few sugars give potato the longest life of the three, yet it darkened as fast; instant "
            "potato holds more reducing sugar than raw",
        ),
    ):
        life = limit_of(keep(name, 29.5, as_dry_as_studied(name)), BROWNING)
        yield Check(
            name=f"days until '{name}' may have darkened at 29.5 °C, as moist as canned food",
            got=life.low / DAY,
            expected=(30.0, most),
            unit="days",
            source="usu-5494",
            where="abstract: darkening by the first 6 months at 29.5 °C",
            why=why,
        )
    for name in (APPLE, CARROT, POTATO):
        life = limit_of(keep(name, 10.0, as_dry_as_studied(name)), BROWNING)
        yield Check(
            name=f"days that '{name}' keeps its color at 10 °C, as moist as canned food",
            got=life.low / DAY,
            expected=(730.0, inf),
            unit="days",
            source="usu-5494",
            where="abstract: color kept for 24 months at 10 °C",
        )


def compare_temperature_factors() -> Iterator[Check]:
    """How much shorter a life is in the warmth, as the program has it for a food, against printed pairs of times."""
    apple = [limit_of(keep(APPLE, celsius, as_dry_as_studied(APPLE)), BROWNING).high for celsius in (20.0, 30.0, 40.0)]
    for celsius, life, printed in ((30, apple[1], 50), (40, apple[2], 22)):
        yield Check(
            name=f"browning of dried apple, time at 20 over time at {celsius} °C",
            got=apple[0] / life,
            expected=120 / printed,
            tolerance=0.10,
            source="lavelli2009",
            where="120 days at 20 °C, 50 at 30 °C and 22 at 40 °C brown alike",
            why="printed with two digits",
        )
    fruit = [limit_of(keep(APPLE, celsius, 0.06), BROWNING).central for celsius in (15.6, 26.7)]
    yield Check(
        name="dried fruit, time at 60 °F over time at 80 °F",
        got=fruit[0] / fruit[1],
        expected=2.0,
        tolerance=0.40,
        source="nchfp-storage",
        where="a year at 60 °F, 6 months at 80 °F",
        why="round advice",
    )
    onion = quality_table()["browning"]["energy"][2]
    yield Check(
        name="Q10 of the browning of vegetables at 45 °C, the warmer-sensitive end",
        got=speed_ratio(onion, 323.15, 313.15),
        expected=(4.0, 5.3),
        source="rapusas1995",
        where="Q10 4 to 5 between 40 and 80 °C",
    )
    stew = [limit_of(keep(STEW, celsius), BROWNING).central for celsius in (26.7, 37.8)]
    yield Check(
        name="rations, browning at 80 °F over that at 100 °F",
        got=stew[0] / stew[1],
        expected=6.0,
        tolerance=0.30,
        source="dla-rations",
        where="three years at 80 °F or six months at 100 °F; wet rations, so at another water activity",
        why="round military rule for canned meals",
    )
    orange = {
        celsius: limit_of(keep(CARROT, celsius, absorbers=False), COLOR).central / DAY for celsius in (4.0, 30.0, 37.0)
    }
    for celsius, expected, printed in ((30.0, 106.0, "3 to 4 months"), (37.0, 53.0, "1.5 to 2 months")):
        yield Check(
            name=f"days until half of the orange is gone at {celsius:g} °C in air",
            got=orange[celsius],
            expected=expected,
            tolerance=0.30,
            unit="days",
            source="seregelj2022",
            where=f"half-life {printed}; the constants are those of 21 °C",
            why="printed as ranges of 14% about their middle, of two ways of drying",
        )
    yield Check(
        name="days until half of the orange is gone at 4 °C in air",
        got=orange[4.0],
        expected=(413.0, inf),
        unit="days",
        source="seregelj2022",
        where="stable for at least 413 days at 4 °C",
    )


def compare_fat_kinetics() -> Iterator[Check]:
    low, high = quality_table()["fat"]["energy"][0], quality_table()["fat"]["energy"][2]
    for energy in (low, high):
        yield Check(
            name=f"activation energy of fat oxidation, {energy / 1000:g}",
            got=energy / 1000,
            expected=(40.0, 100.0),
            unit="kJ/mol",
            source="labuza1982",
            where="range for lipid oxidation",
            mark="memory",
        )
    for drier, moister in ((0.02, 0.25), (0.10, 0.30)):
        yield Check(
            name=f"speed of fat oxidation at water activity {drier} over {moister}",
            got=fat_water_speed(drier) / fat_water_speed(moister),
            expected=(1.2, 5.0),
            source="mit-space-diets",
            where="summary: oxidation of lipids proceeds most rapidly at low water contents",
        )
        yield Check(
            name=f"speed of browning at water activity {drier} over {moister}",
            got=browning_water_speed(drier, 5.0) / browning_water_speed(moister, 5.0),
            expected=(0.0, 0.8),
            source="mit-space-diets",
            where="summary: browning is more rapid at elevated water contents",
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
