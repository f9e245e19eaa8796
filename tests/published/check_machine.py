"""Numbers of the generic dryers and of the dried layer against kinetic theory, refrigerants and ranges of practice."""

from collections.abc import Iterator
from math import exp, log, pi, sqrt

from CoolProp.CoolProp import PropsSI
from scipy import constants as codata

from drystow.drying.layer import layer_conductivity, layer_of
from drystow.machine.profile import dryer_profile, profile_names
from tests.published.check import Check


def compare_heat_to_a_tray() -> Iterator[Check]:
    gamma = PropsSI("CPMASS", "T", 280.0, "P", 10.0, "Water") / PropsSI("CVMASS", "T", 280.0, "P", 10.0, "Water")
    molar = PropsSI("M", "Water")
    free = (gamma + 1) / (gamma - 1) * sqrt(codata.R / (8 * pi * molar * 273.15))
    for name in profile_names():
        dryer = dryer_profile(name)
        yield Check(
            f"heat through rarefied vapor under a tray, {name}",
            dryer.contact_gas,
            free,
            0.1,
            unit="W/m2/K/Pa",
            source="kinetic-theory",
            where="free molecular conduction, accommodation 1, 0 °C",
            mark="calc",
            why="from 250 to 293 K it changes by 4% either way",
        )
        contact = dryer.contact_constant + dryer.contact_gas * 60.0 / (1.0 + dryer.contact_saturation * 60.0)
        yield Check(
            f"heat transfer from shelf to a flat tray at 60 Pa, {name}",
            contact,
            (10.0, 30.0),
            kind="band",
            unit="W/m2/K",
            source="tray-practice",
            where="flat metal trays, 20 to 100 Pa",
            mark="memory",
        )
        yield Check(
            f"gap under a tray that the numbers mean, {name}",
            1e3 * 0.0166 * dryer.contact_saturation / dryer.contact_gas,
            (0.3, 2.5),
            kind="band",
            unit="mm",
            source="kinetic-theory",
            where="conductivity of vapor over its conduction when dense; trays of kitchens are not flat",
            mark="calc",
        )
        yield Check(
            f"heat from the shelf above at 20 °C to food at -10 °C, {name}",
            dryer.above,
            (2.0, 4 * codata.Stefan_Boltzmann * 278.0**3),
            kind="band",
            unit="W/m2/K",
            source="tray-practice",
            where="radiation alone: trays hung free get 2 to 5, black plates the most",
            mark="memory",
        )
        yield Check(
            f"conductivity of the ice on the trap, {name}",
            dryer.trap_ice_conductivity,
            (0.7, 2.2),
            kind="band",
            unit="W/m/K",
            source="fd-encyclopedia",
            where="clear ice with little air, milky with a moderate leak; porous frost of a bad leak, 0.3, is worse",
        )
        yield Check(
            f"leak of a sound dryer, {name}",
            dryer.leak,
            (0.0, 2.05e-3),
            kind="band",
            unit="Pa m3/s",
            source="leak-reference",
            where="accepted of a clean, dry, empty unit: 0.02 mbar L/s",
        )


def compare_refrigeration() -> Iterator[Check]:
    """How the power changes with temperature stands in check_refrigeration.py, with the losses of a piston."""
    for name in profile_names():
        dryer = dryer_profile(name)
        ideal = dryer.refrigeration_reference / (308.15 - dryer.refrigeration_reference)
        yield Check(
            f"refrigerator against the best possible one, {name}",
            dryer.refrigeration / dryer.compressor_power / ideal,
            (0.2, 0.5),
            kind="band",
            source="tray-practice",
            where="small compressors at -35 °C reach a fifth to a half of the ideal cycle",
            mark="memory",
        )


# Published permeabilities of single dried foods, 1e-8 s; all from one table but the coffee of the worked figure.
PERMEABILITIES = (
    ("fruit", ("apple", (3.3, 6.0)), ("banana", (1.1, 1.1))),
    ("vegetable", ("carrot", (2.0, 5.6)), ("tomato juice", (2.1, 2.1))),
    ("starchy", ("potato", (1.3, 1.3))),
    ("meat", ("beef", (0.7, 4.4))),
    ("dairy", ("whole milk", (2.7, 2.7))),
    ("liquid", ("coffee 20%", (4.0, 4.0)), ("coffee 30%", (3.0, 3.0)), ("coffee, worked figure", (2.6, 2.6)),
     ("tomato juice", (2.1, 2.1))),
)  # fmt: skip


def compare_permeability_of_classes() -> Iterator[Check]:
    for food_class, *foods in PERMEABILITIES:
        middles = [sqrt(low * high) for _food, (low, high) in foods]
        middle = exp(sum(map(log, middles)) / len(middles))
        yield Check(
            f"permeability of dried {food_class}, middle of {', '.join(food for food, _range in foods)}",
            1e8 / layer_of(food_class).a1,
            middle,
            0.3,
            unit="1e-8 s",
            source="karel1975",
            where="table of permeabilities",
            mark="memory",
            why="geometric mean of few foods; each of them scatters by a factor of two",
        )


def compare_conductivity_of_other_layers() -> Iterator[Check]:
    """Gels and powders measured without gas or in air; what each class says of itself."""
    air = PropsSI("L", "T", 308.15, "P", 1e5, "Air")
    for food, food_class, pressure, gas, expected, tolerance, source, mark, why in (
        ("starch gel", "starchy", 0.0, 0.0, 0.0091, 0.25, "saravacos1965", "read", "a gel for tissue"),
        ("albumin gel", "egg", 4.4, air, 0.0129, 0.06, "saravacos1965", "memory", "a gel for egg"),
        ("albumin gel", "egg", 101000.0, air, 0.0393, 0.06, "saravacos1965", "memory", "a gel for egg"),
        ("skim milk", "dairy", 5.0, 0.017, 0.0275, 0.06, "liapis-bruttini", "memory", "they have it rise linearly"),
        ("skim milk", "dairy", 100.0, 0.017, 0.0360, 0.13, "liapis-bruttini", "memory", "they have it rise linearly"),
        ("coffee", "liquid", 40.0, 0.017, 0.0350, 0.25, "fd-encyclopedia", "read",
         "known mismatch: coffee's layer is denser than that of most liquids"),
    ):  # fmt: skip
        layer = layer_of(food_class)
        yield Check(
            f"conductivity of dried {food} at {pressure:g} Pa",
            float(layer_conductivity(pressure, layer.vacuum_conductivity, gas, layer.half_pressure)),
            expected,
            tolerance,
            unit="W/m/K",
            source=source,
            where="dried layer",
            mark=mark,
            why=why,
        )
