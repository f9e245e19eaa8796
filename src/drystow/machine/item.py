"""Food on a tray: geometry, ice and water, and the numbers that the compiled balance reads."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from drystow.constants import GAS_CONSTANT
from drystow.drying.layer import DriedLayer
from drystow.foods.model import Food
from drystow.machine.layout import Tray
from drystow.machine.pieces import WRAPPER_SPREADS, Areas, Cut, Lie, lie_of
from drystow.numerics import Array
from drystow.properties.skin import Skin
from drystow.properties.sorption import Isotherm


@dataclass(frozen=True)
class TrayItem:
    """One food on one tray (or part of it), ready for drying.

    food: what it is
    mass: fresh mass [kg]
    lie: how it lies on its tray; what follows from that stands in the next ones, too
    shape: slab, stick, sphere or cube, as it freezes and dries; a bed of pieces is a slab
    size: thickness, diameter or edge, as it freezes and dries [m]
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
    wrapper_mass: of what the food is in; weighed with it, never counted as food [kg]
    """

    food: Food
    mass: float
    lie: Lie
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
    wrapper_mass: float = 0.0

    @property
    def solids(self) -> float:
        """Dry mass [kg]."""
        return self.mass * self.food.composition.solids

    @property
    def water(self) -> float:
        """Water when it goes in [kg]."""
        return self.ice + self.unfrozen

    @property
    def cut(self) -> Cut:
        """How it is cut, and what it lies on and in, as asked for."""
        return self.lie.cut

    @property
    def covering_spread(self) -> float:
        """One standard deviation of the logarithm of `covering`, that of its larger part [-]."""
        skin = 0.0 if self.skin is None else self.skin.resistance
        if skin <= 0.0 and self.covering <= 0.0:
            return 0.0
        own = 0.0 if self.skin is None else self.skin.spread
        return own if skin >= 0.5 * self.covering else WRAPPER_SPREADS[self.cut.wrapper]

    @property
    def written_size(self) -> float:
        """Thickness, diameter or edge of what lies there; of what is poured how deep it stands [m]."""
        return self.size if self.lie.packing == "poured" else self.cut.size

    def laid(self, mass: float, room: float) -> "TrayItem":
        """Return so much of this food [kg] on a part of a tray [m2], as `lie_of` says that it lies there."""
        share, lie = mass / self.mass, lie_of(self.cut, mass, self.density, room)
        return replace(
            self,
            mass=mass,
            ice=self.ice * share,
            unfrozen=self.unfrozen * share,
            wrapper_mass=self.wrapper_mass * share,
            **from_lie(lie),
        )


def from_lie(lie: Lie) -> dict[str, Any]:
    """Return the values of a `TrayItem` that follow from how it lies.

    lie: on its tray
    """
    names = ("shape", "size", "faces", "dimension", "length", "resting", "areas")
    return {"lie": lie} | {name: getattr(lie, name) for name in names}


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
        Tray.DIMENSION: item.dimension,
        Tray.RESTING: float(item.resting),
        Tray.ICE: item.ice,
        Tray.SOLIDS: solids,
        Tray.UNFROZEN: item.unfrozen / solids,
        Tray.LENGTH: item.length,
        Tray.OUTER: item.areas.outer,
        Tray.CONTACT: item.areas.contact,
        Tray.ABOVE: item.areas.above,
        Tray.R0: layer.r0 + item.covering,
        Tray.A1: layer.a1,
        Tray.A2: layer.a2,
        Tray.VISCOUS: layer.viscous,
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
