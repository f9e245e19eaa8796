"""How much oxygen is in a package, how much gets in, and which absorbers take it up."""

from dataclasses import dataclass
from math import ceil

from drystow.constants import (
    ATMOSPHERE,
    GAS_CONSTANT,
    IRON_MOLAR_MASS,
    IRON_OXYGEN_STOICHIOMETRY,
    OXYGEN_IN_AIR,
)
from drystow.errors import CELSIUS_HINT, InputError, check_range
from drystow.messages import msg
from drystow.numerics import Numeric
from drystow.shown import quantity

REFERENCE_TEMPERATURE = 296.15
"""Temperature to which absorber ratings and oxygen volumes refer, 23 °C [K]. Source: packaging-recall."""

SACHET_SIZES = (20, 50, 100, 200, 300, 500, 1000, 2000)
"""Nominal sizes of oxygen absorbers [mL of oxygen]. Source: packaging-recall."""

GRAIN_RULE = 300e-6 / 3.108e-3
"""The usual rule, 300 mL of oxygen for a No. 10 can, which fits dense grain [m3/m3]. Source: packaging-recall."""

ABSORBER_CAUTIONS = (
    msg("Use absorbers made for dry food. The kind that waits for moist food does not work here."),
    msg(
        "Use absorbers only with food that is really dry. In moist food (water activity above "
        "0.85), taking out oxygen lets the botulism germ grow. An absorber never replaces drying."
    ),
    msg(
        "Seal every package within 15 to 30 minutes of opening the absorbers. Keep spares in a "
        "small airtight jar. Working absorbers get warm."
    ),
    msg(
        "Keep absorbers away from children and pets. Do not eat or microwave them. Their iron sets off metal detectors."
    ),
    msg("Do not put an absorber next to a desiccant, which takes the water it needs."),
)
"""Said wherever an absorber is chosen. Source: absorber-practice, home-storage-sheet."""


@dataclass(frozen=True)
class AbsorberChoice:
    """Sachets for one package.

    sachets: nominal sizes, largest first, in mL of oxygen
    needed_ml: oxygen times margin [mL]
    capacity_ml: sum of the nominal sizes [mL]
    """

    sachets: tuple[int, ...]
    needed_ml: float
    capacity_ml: float

    @property
    def text(self) -> str:
        """Return the choice in words, such as ``1 × 1000 cc + 1 × 300 cc``."""
        counts = {size: self.sachets.count(size) for size in self.sachets}
        return " + ".join(f"{count} × {size} cc" for size, count in counts.items()) or msg("none")


def pressure_at_altitude(altitude: Numeric) -> Numeric:
    """Pressure of the standard atmosphere [Pa].

    altitude: above sea level [m]
    Valid: -500 to 11000 m (troposphere). Weather moves the pressure by about 3%.
    Source: us-standard-atmosphere, barometric formula of the troposphere.

    >>> print(f"{pressure_at_altitude(1500.0):.0f}")
    84556
    """
    check_range("altitude", altitude, -500, 11000, "altitude", hint=msg("is it in feet?"))
    return ATMOSPHERE * (1 - 2.25577e-5 * altitude) ** 5.25588


def void_volume(container_volume: Numeric, food_mass: Numeric, true_density: Numeric) -> Numeric:
    """Air in a package, around the pieces and in their pores [m3].

    container_volume: inside the container [m3]
    food_mass: dried food [kg]
    true_density: of the solid without pores [kg/m3]
    Valid: the solid has to fit into the container.
    Source: definition. The pores of freeze-dried food are taken as open and full of air.

    >>> print(f"{void_volume(3.108e-3, 0.2, 1500.0):.6f}")
    0.002975
    """
    check_range("container_volume", container_volume, 0, 10, "large volume", above=True)
    check_range("food_mass", food_mass, 0, 1e4, "mass")
    check_range("true_density", true_density, 700, 3000, "kg/m3", hint=msg("the density of the solids without pores"))
    void = container_volume - food_mass / true_density
    check_range(
        "food_mass", void, 0, 10, msg("m3 of air left"), hint=msg("that much food does not fit in the container")
    )
    return void


def oxygen_volume_ml(
    container_volume: Numeric,
    food_mass: Numeric,
    true_density: Numeric,
    altitude: Numeric,
    temperature: Numeric,
) -> Numeric:
    """Oxygen in a package closed in room air, as a volume at 23 °C and one atmosphere [mL].

    container_volume: inside the container [m3]
    food_mass: dried food [kg]
    true_density: of the solid without pores [kg/m3]
    altitude: of the kitchen above sea level [m]
    temperature: while packing [K]
    Valid: 253 to 323 K, -500 to 11000 m.
    Source: us-standard-atmosphere; ideal gas; air taken as dry (at most 3% too much).

    >>> print(f"{oxygen_volume_ml(3.108e-3, 0.2, 1500.0, 0.0, 296.15):.0f}")
    623
    """
    check_range("temperature", temperature, 253, 323, "temperature", hint=CELSIUS_HINT)
    void = void_volume(container_volume, food_mass, true_density)
    pressure = pressure_at_altitude(altitude)
    return 1e6 * void * OXYGEN_IN_AIR * (pressure / ATMOSPHERE) * (REFERENCE_TEMPERATURE / temperature)


def oxygen_ingress(transmission: float, area: float, leak: float, pressure: float) -> float:
    """Oxygen that comes through the walls and the closure of an oxygen-free package, at 23 °C and 1 atm [m3/s].

    transmission: oxygen transmission of the wall [m3/(m2 s Pa)]
    area: of the wall [m2]
    leak: oxygen through the closure at sea level [m3/s]
    pressure: of the room air [Pa]
    Valid: positive values; the transmission is taken at its test temperature, 23 to 25 °C.
    Source: yam-scavengers; oxygen's partial pressure outside, none inside, so an upper bound.

    >>> print(f"{oxygen_ingress(1.1423e-16 * 0.6, 0.12, 0.0, 101325.0) * 86400 * 365.25 * 1e6:.1f} mL per year")
    5.5 mL per year
    """
    check_range("transmission", transmission, 0, 1e-10, "m3/(m2 s Pa)")
    check_range("area", area, 0, 100, "area")
    check_range("leak", leak, 0, 1e-3, "m3/s")
    return (transmission * area * ATMOSPHERE + leak / OXYGEN_IN_AIR) * OXYGEN_IN_AIR * pressure / ATMOSPHERE


def iron_capacity(temperature: Numeric, pressure: Numeric) -> Numeric:
    """Oxygen that iron takes up when it rusts through to the hydroxide [m3/kg].

    temperature: of the oxygen whose volume is meant [K]
    pressure: of the oxygen whose volume is meant [Pa]
    Valid: ideal gas; a sachet gives less per mass of its filling.
    Source: codata2018, iupac; 4 Fe + 3 O2 + 6 H2O -> 4 Fe(OH)3.

    >>> print(f"{iron_capacity(273.15, 101325.0) * 1000:.0f} mL per g")
    301 mL per g
    """
    moles = IRON_OXYGEN_STOICHIOMETRY / IRON_MOLAR_MASS
    return moles * GAS_CONSTANT * temperature / pressure


def absorbers_for(oxygen_ml: float, margin: float = 1.25) -> AbsorberChoice:
    """Return the fewest sachets of nominal sizes that take up the oxygen, and of those the least excess.

    oxygen_ml: oxygen to be taken up, at 23 °C and 1 atm [mL]
    margin: factor on the oxygen, 1.25 for a quarter more; below 1 it is read as the extra share (0.25) [-]
    Valid: up to 100000 mL in one package; margin up to 5.
    Source: packaging-recall. Nominal sizes are mL of oxygen, not of air.

    >>> absorbers_for(623, 1.3).text
    '1 × 1000 cc'
    """
    check_range("oxygen_ml", oxygen_ml, 0, 1e5, "mL", hint=msg("pack into smaller containers"))
    check_range("margin", margin, 0, 5, "", hint=msg("1.25 adds a quarter"))
    needed = oxygen_ml * (margin if margin >= 1 else 1 + margin)
    if needed <= 0:
        return AbsorberChoice((), 0.0, 0.0)
    # With the fewest sachets at most one can be smaller than the largest size: two halves would make one.
    largest = SACHET_SIZES[-1]
    full = ceil(needed / largest) - 1
    last = next(size for size in SACHET_SIZES if size >= needed - full * largest - 1e-9)
    sachets = (largest,) * full + (last,)
    return AbsorberChoice(sachets, needed, float(sum(sachets)))


def grain_rule_warning(oxygen_ml: float, container_volume: float) -> str:
    """Return one sentence when the usual rule for grain would leave too little absorber, else nothing.

    oxygen_ml: oxygen to be taken up [mL]
    container_volume: inside the container [m3]
    """
    rule = GRAIN_RULE * container_volume * 1e6
    if oxygen_ml <= rule:
        return ""
    return msg(
        "Use more absorber than for grain. The usual 300 cc for a No. 10 can ({rule} here) is "
        "meant for dense grain. This airy food traps {oxygen} of oxygen, {times:.1f} times as "
        "much.",
        rule=quantity(rule / 1e6, "gas"),
        oxygen=quantity(oxygen_ml / 1e6, "gas"),
        times=oxygen_ml / rule,
    )


def check_air_left(air_left: float) -> None:
    """Raise `InputError` when the share of air left after pulling a vacuum is impossible.

    air_left: absolute pressure left inside over room pressure [-]
    """
    if not 0 < air_left <= 1:
        raise InputError(
            "air_left",
            msg(
                "{air_left:g} is not a share of the air; write 100% without a vacuum, about 15 to 35% "
                "after a household vacuum sealer",
                air_left=air_left,
            ),
        )
