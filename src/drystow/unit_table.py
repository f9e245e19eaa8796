"""The closed table of units that people may write, and the short expressions made of them such as W/m^2/K."""

import re
from dataclasses import dataclass
from functools import cache

from drystow.constants import ZERO_CELSIUS

MOST_FACTORS = 5
"""Units in one expression."""

ONE = (0, 0, 0, 0, 0)
MASS, LENGTH, TIME, TEMPERATURE, MONEY = (tuple(int(place == own) for place in range(5)) for own in range(5))
AREA, VOLUME, SPEED = (0, 2, 0, 0, 0), (0, 3, 0, 0, 0), (0, 1, -1, 0, 0)
FORCE, PRESSURE, ENERGY, POWER = (1, 1, -2, 0, 0), (1, -1, -2, 0, 0), (1, 2, -2, 0, 0), (1, 2, -3, 0, 0)

INCH, POUND, GALLON, DAY, STANDARD_GRAVITY = 0.0254, 0.45359237, 3.785411784e-3, 86400.0, 9.80665
FOOT, OUNCE, YEAR, TORR, CALORIE = 12 * INCH, POUND / 16, 365.25 * DAY, 101325 / 760, 4.184


@dataclass(frozen=True)
class Unit:
    """A unit or an expression of units.

    factor: SI units in one of it [-]
    dimension: powers of kilogram, meter, second, kelvin and money
    offset: SI value of its zero, for degrees Celsius and Fahrenheit [K]
    """

    factor: float
    dimension: tuple[int, ...]
    offset: float = 0.0


_TABLE = (
    # names parted by commas, SI units in one, dimension; exact definitions (NIST SP 811), held against Pint and SciPy
    ("kg, Kg, KG, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes, kilogramo, kilogramos", 1.0, MASS),
    ("g, G, gram, grams, gramme, grammes, gramo, gramos", 1e-3, MASS),
    ("mg, milligram, milligrams, miligramo, miligramos", 1e-6, MASS),
    ("µg, ug, mcg, microgram, micrograms", 1e-9, MASS),
    ("t, tonne, tonnes, metric_ton, tonelada, toneladas", 1e3, MASS),
    ("lb, lbs, Lb, Lbs, LB, LBS, pound, pounds, libra, libras", POUND, MASS),
    ("oz, Oz, OZ, ounce, ounces, onza, onzas", OUNCE, MASS),
    ("m, meter, meters, metre, metres, metro, metros", 1.0, LENGTH),
    ("km, kilometer, kilometers, kilometre, kilometres", 1e3, LENGTH),
    ("cm, CM, centimeter, centimeters, centimetre, centimetres, centímetro, centímetros", 1e-2, LENGTH),
    ("mm, MM, millimeter, millimeters, millimetre, millimetres, milímetro, milímetros", 1e-3, LENGTH),
    ("µm, um, micron, microns, micrometer, micrometers, micrometre, micrometres", 1e-6, LENGTH),
    ("in, In, IN, inch, inches, pulgada, pulgadas, \", ''", INCH, LENGTH),
    ("ft, Ft, FT, foot, feet, pie, pies, '", FOOT, LENGTH),
    ("yd, yard, yards, yarda, yardas", 3 * FOOT, LENGTH),
    ("mi, mile, miles, milla, millas", 5280 * FOOT, LENGTH),
    ("mil, mils, thou", INCH / 1000, LENGTH),
    ("m2, sq m, square meter, square meters, square metre, square metres", 1.0, AREA),
    ("cm2, sq cm, square centimeter, square centimeters", 1e-4, AREA),
    ("mm2, sq mm, square millimeter, square millimeters", 1e-6, AREA),
    ("in2, sq in, square inch, square inches", INCH**2, AREA),
    ("ft2, sq ft, square foot, square feet", FOOT**2, AREA),
    ("m3, cu m, cubic meter, cubic meters, cubic metre, cubic metres", 1.0, VOLUME),
    ("cm3, cc, cubic centimeter, cubic centimeters", 1e-6, VOLUME),
    ("mm3, cubic millimeter, cubic millimeters", 1e-9, VOLUME),
    ("in3, cu in, cubic inch, cubic inches", INCH**3, VOLUME),
    ("ft3, cu ft, cuft, cubic foot, cubic feet", FOOT**3, VOLUME),
    ("L, l, liter, liters, litre, litres, litro, litros", 1e-3, VOLUME),
    ("dL, dl, deciliter, deciliters, decilitre, decilitres", 1e-4, VOLUME),
    ("cL, cl, centiliter, centiliters, centilitre, centilitres", 1e-5, VOLUME),
    ("mL, ml, ML, Ml, milliliter, milliliters, millilitre, millilitres, mililitro, mililitros", 1e-6, VOLUME),
    ("gal, GAL, gallon, gallons, US gallon, US gallons, US gal, galón, galones", GALLON, VOLUME),
    ("qt, QT, quart, quarts, US quart, US quarts", GALLON / 4, VOLUME),
    ("pt, PT, pint, pints, US pint, US pints, pinta, pintas", GALLON / 8, VOLUME),
    ("cup, cups, US cup, US cups, taza, tazas", GALLON / 16, VOLUME),
    (
        "fl oz, floz, FL OZ, Fl Oz, US fl oz, fluid ounce, fluid ounces, US fluid ounce, fluid_ounce",
        GALLON / 128,
        VOLUME,
    ),
    ("tbsp, Tbsp, tablespoon, tablespoons, cucharada, cucharadas, cda, cdas", GALLON / 256, VOLUME),
    ("tsp, teaspoon, teaspoons, cucharadita, cucharaditas, cdta, cdtas", GALLON / 768, VOLUME),
    ("s, sec, secs, second, seconds, segundo, segundos", 1.0, TIME),
    ("ms, millisecond, milliseconds", 1e-3, TIME),
    ("min, Min, MIN, mins, minute, minutes, minuto, minutos", 60.0, TIME),
    ("h, H, hr, hrs, Hr, HR, hour, hours, hora, horas", 3600.0, TIME),
    ("d, day, days, día, días, dia, dias", DAY, TIME),
    ("wk, wks, week, weeks, semana, semanas", 7 * DAY, TIME),
    ("month, months, mes, meses", YEAR / 12, TIME),
    ("yr, yrs, a, year, years, año, años", YEAR, TIME),
    ("K, kelvin, kelvins, delta_degC, Δ°C", 1.0, TEMPERATURE),
    ("delta_degF, Δ°F, degR", 5 / 9, TEMPERATURE),
    ("Pa, pascal, pascals", 1.0, PRESSURE),
    ("hPa, hectopascal, hectopascals", 100.0, PRESSURE),
    ("kPa, kilopascal, kilopascals", 1e3, PRESSURE),
    ("MPa, megapascal, megapascals", 1e6, PRESSURE),
    ("bar, bars", 1e5, PRESSURE),
    ("mbar, mbars, millibar, millibars", 100.0, PRESSURE),
    ("µbar, ubar, microbar", 0.1, PRESSURE),
    ("Torr, torr, mmHg", TORR, PRESSURE),
    ("mTorr, mtorr, millitorr, militorr, µmHg, umHg", TORR / 1000, PRESSURE),
    ("atm, atmosphere, atmospheres", 101325.0, PRESSURE),
    ("psi, PSI", POUND * STANDARD_GRAVITY / INCH**2, PRESSURE),
    ("N, newton, newtons", 1.0, FORCE),
    ("J, joule, joules", 1.0, ENERGY),
    ("kJ, kilojoule, kilojoules", 1e3, ENERGY),
    ("MJ, megajoule, megajoules", 1e6, ENERGY),
    ("Wh, watt hour, watt hours, watthour, watthours", 3600.0, ENERGY),
    ("kWh, KWH, kwh, Kwh, KWh, kilowatt hour, kilowatt hours, kilowatthour", 3.6e6, ENERGY),
    ("MWh, megawatt hour, megawatt hours", 3.6e9, ENERGY),
    ("cal, calorie, calories", CALORIE, ENERGY),
    ("kcal, kilocalorie, kilocalories", 1e3 * CALORIE, ENERGY),
    ("BTU, Btu, btu", 1055.05585262, ENERGY),
    ("W, watt, watts, vatio, vatios", 1.0, POWER),
    ("mW, milliwatt, milliwatts", 1e-3, POWER),
    ("kW, KW, kw, kilowatt, kilowatts", 1e3, POWER),
    ("hp, horsepower", 550 * FOOT * POUND * STANDARD_GRAVITY, POWER),
    ("%, percent, pct, por ciento", 0.01, ONE),
    ("‰, per mille, permille", 1e-3, ONE),
    ("ppm", 1e-6, ONE),
    ("dimensionless", 1.0, ONE),
    ("$, US$, USD, €, EUR, £, GBP, dollar, dollars, dólar, dólares, euro, euros", 1.0, MONEY),
    ("¢, ct, cts, cent, cents, centavo, centavos, céntimo, céntimos", 0.01, MONEY),
)

UNITS = {name.strip(): Unit(factor, dimension) for names, factor, dimension in _TABLE for name in names.split(",")}
UNITS |= {name: Unit(1.0, TEMPERATURE, ZERO_CELSIUS) for name in ("°C", "°c", "degC", "C", "c", "celsius", "℃")}
UNITS |= {
    name: Unit(5 / 9, TEMPERATURE, ZERO_CELSIUS - 32 * 5 / 9)
    for name in ("°F", "°f", "degF", "F", "f", "fahrenheit", "℉")
}
_ANY_CASE = {name.casefold(): unit for name, unit in UNITS.items() if len(name) > 3}
"""Long names are known however they are written; short ones mean different things in capitals."""


@cache
def _pattern() -> re.Pattern[str]:
    names = sorted(UNITS, key=len, reverse=True)
    exact, free = (
        "|".join(re.escape(name).replace(r"\ ", r"\s+") for name in names if (len(name) > 3) == long)
        for long in (False, True)
    )
    name = rf"(?:(?i:{free})|{exact})(?![A-Za-zÀ-ÿµ])"
    factor = rf"{name}(?:\s*\^\s*-?[1-4](?![0-9.,]))?"
    return re.compile(rf"\s*(?:1(?=\s*/)|{factor})(?:\s*[*/]\s*\(?\s*{factor}\s*\)?){{0,{MOST_FACTORS}}}")


def unit_at(text: str, start: int) -> int:
    """Return where the unit ends that begins at a place of a text, the place itself when no known unit is there."""
    match = _pattern().match(text, start)
    return match.end() if match else start


@cache
def unit_of(text: str) -> Unit | None:
    """Return the unit of an expression, None when it is not one of the table's; at most a handful of whole powers.

    >>> unit_of("g/m^2/day").dimension, unit_of("furlong")
    ((1, -2, -1, 0, 0), None)
    """
    if unit_at(text, 0) != len(text) or text.count("(") != text.count(")"):
        return None
    if (plain := _named(text.strip())) is not None:
        return plain
    factor, dimension, sign, group = 1.0, [0, 0, 0, 0, 0], 1, 1
    for word in re.split(r"\s*([*/()])\s*", text.strip()):
        if word in ("*", "/"):
            sign = group * (1 if word == "*" else -1)
        elif word == "(":
            group = sign
        elif word == ")":
            group = 1
        elif word and word != "1":
            name, _, power = (part.strip() for part in word.partition("^"))
            unit, times = _named(name), sign * int(power or 1)
            if unit is None:
                return None
            factor *= unit.factor**times
            dimension = [one + times * other for one, other in zip(dimension, unit.dimension, strict=True)]
    return Unit(factor, tuple(dimension))


def _named(name: str) -> Unit | None:
    word = " ".join(name.split())
    return UNITS.get(word) or _ANY_CASE.get(word.casefold())
