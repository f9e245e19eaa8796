"""Food on a tray: geometry, ice and water, and the numbers that the compiled balance reads."""

import math
from dataclasses import dataclass

import numpy as np

from drystow.constants import GAS_CONSTANT
from drystow.drying.layer import DriedLayer
from drystow.foods.model import Food
from drystow.machine.layout import Tray
from drystow.numerics import Array
from drystow.properties.skin import Skin
from drystow.properties.sorption import Isotherm

DIMENSIONS = {"slab": 1.0, "stick": 2.0, "sphere": 3.0, "cube": 3.0}
"""Shape -> its number: surface times drying length over volume."""

ONE_FACE = 0.0
PILE = 0.6  # share of the volume that piled pieces fill; common practice
SURFACE_PER_VOLUME = {"stick": 4.0, "sphere": 6.0, "cube": 6.0}  # times volume over size
SHADOW_PER_VOLUME = {"stick": 4.0 / math.pi, "sphere": 1.5, "cube": 1.0}


@dataclass(frozen=True)
class Areas:
    """The three areas of a tray item.

    outer: area that vapour leaves by [m2]
    contact: area resting on the tray [m2]
    above: area facing the heater above [m2]
    """

    outer: float
    contact: float
    above: float


@dataclass(frozen=True)
class TrayItem:
    """One food on one tray (or part of it), ready for drying.

    food: what it is
    mass: fresh mass [kg]
    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    faces: faces of a slab that dry, 1 or 2
    dimension: shape number, 1 for a slab to 3 for a sphere: outer surface times drying length over volume [-]
    length: thickness that dries to one face, half of it where two dry, or radius [m]
    resting: it dries from one side only and lies frozen on what is below, through which heat comes
    covering: resistance of a skin or a wrapper to vapour, beside that of the dried layer [m/s]
    areas: outer, contact and above
    density: of the fresh food [kg/m3]
    start_temperature: when it goes in [K]
    frozen: it goes in frozen
    freezing_point: initial freezing point [K]
    ice: ice at the start of drying [kg]
    unfrozen: unfrozen water at the start of drying [kg]
    layer: the dried layer
    isotherm: sorption of the dried food
    contact_fixed: contact heat transfer that replaces the machine's, or None [W/(m2 K)]
    above_fixed: heat transfer from above that replaces the machine's, or None [W/(m2 K)]
    frozen_conductivity: of the frozen food [W/(m K)]
    heat_capacity: of the dry solids [J/(kg K)]
    limit: front temperature limit [K]
    target: wished residual moisture, wet basis [-]
    notes: sentences for the result
    tray: number of the tray that it lies on, from 1 at the top
    skin: its skin and what was done to it, None where none holds vapour back
    """

    food: Food
    mass: float
    shape: str
    size: float
    faces: int
    dimension: float
    length: float
    resting: bool
    covering: float
    areas: Areas
    density: float
    start_temperature: float
    frozen: bool
    freezing_point: float
    ice: float
    unfrozen: float
    layer: DriedLayer
    isotherm: Isotherm
    contact_fixed: float | None
    above_fixed: float | None
    frozen_conductivity: float
    heat_capacity: float
    limit: float
    target: float
    notes: tuple[str, ...] = ()
    tray: int = 1
    skin: Skin | None = None

    @property
    def solids(self) -> float:
        """Dry mass [kg]."""
        return self.mass * self.food.composition.solids

    @property
    def water(self) -> float:
        """Water when it goes in [kg]."""
        return self.ice + self.unfrozen


def piece_areas(shape: str, size: float, faces: int, mass: float, density: float, covered: float) -> Areas:
    """Return the default areas of a tray item.

    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    faces: faces of a slab that dry
    mass: fresh mass [kg]
    density: of the fresh food [kg/m3]
    covered: tray area that the food covers [m2]
    Source: definition, geometry of the shapes; the shadow never exceeds the tray.
    """
    if shape == "slab":
        return Areas(covered * faces, covered, covered)
    volume = mass / density
    outer = SURFACE_PER_VOLUME[shape] * volume / size
    shadow = min(SHADOW_PER_VOLUME[shape] * volume / size, covered)
    return Areas(outer, shadow, 0.5 * outer)


def pile_height(shape: str, size: float, mass: float, density: float, covered: float) -> float:
    """Height of the food on the tray [m].

    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    mass: fresh mass [kg]
    density: of the fresh food [kg/m3]
    covered: tray area that the food covers [m2]
    Source: household-day, pieces fill about 60% of a pile.
    """
    fill = 1.0 if shape == "slab" else PILE
    level = mass / (density * covered * fill)
    return level if shape == "slab" else max(level, size)


def tray_row(item: TrayItem, contact: tuple[float, float, float], above: float) -> Array:
    """Return the numbers of an item in the order the compiled balance reads.

    item: the food on the tray
    contact: the machine's contact heat transfer: constant, rise, saturation
    above: the machine's heat transfer from above [W/(m2 K)]
    """
    constant, gas, saturation = contact if item.contact_fixed is None else (item.contact_fixed, 0.0, 0.0)
    solids = max(item.solids, 1e-9)
    layer, isotherm = item.layer, item.isotherm
    entries: dict[int, float] = {
        Tray.SHAPE: ONE_FACE if item.resting else float(round(item.dimension)),
        Tray.ICE: item.ice,
        Tray.SOLIDS: solids,
        Tray.BOUND: item.unfrozen / solids,
        Tray.LENGTH: item.length,
        Tray.OUTER: item.areas.outer,
        Tray.CONTACT: item.areas.contact,
        Tray.ABOVE: item.areas.above,
        Tray.R0: layer.r0 + item.covering,
        Tray.A1: layer.a1,
        Tray.A2: layer.a2,
        Tray.KD_VACUUM: layer.vacuum_conductivity,
        Tray.KD_GAS: layer.gas_conductivity,
        Tray.KD_PRESSURE: layer.half_pressure,
        Tray.KV_CONSTANT: constant,
        Tray.KV_GAS: gas,
        Tray.KV_SATURATION: saturation,
        Tray.H_ABOVE: above if item.above_fixed is None else item.above_fixed,
        Tray.K_FROZEN: item.frozen_conductivity,
        Tray.DESORPTION_RATE: layer.desorption_rate,
        Tray.DESORPTION_ENERGY: layer.desorption_energy / GAS_CONSTANT,
        Tray.MONOLAYER: isotherm.monolayer,
        Tray.GAB_C: isotherm.c,
        Tray.GAB_K: isotherm.k,
        Tray.SORPTION_HEAT: isotherm.desorption_heat / GAS_CONSTANT,
        Tray.HEAT_CAPACITY: item.heat_capacity,
        Tray.TARGET: item.target / (1.0 - item.target),
        Tray.LIMIT: item.limit,
        Tray.THAW: item.freezing_point,
    }
    row = np.zeros(len(Tray))
    for column, value in entries.items():
        row[column] = value
    return row
