"""A load as it is asked for, in SI: food on trays, a dryer and its program; and as the engine runs it.

A load file is a notation of a `LoadSpec` (`machine.loadfile`); a batch of the kitchen gives one from its rows.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from drystow.foods.model import Food
from drystow.machine.item import TrayItem
from drystow.machine.pieces import SURFACES, WRAPPERS
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.units import in_file

FREEZERS = ("dryer", "household freezer")


@dataclass(frozen=True)
class ProgramStep:
    """One step of the shelf program.

    shelf: set-point [K]
    duration: how long; infinite means until dry [s]
    """

    shelf: float
    duration: float

    def __str__(self) -> str:
        """Return it as a file writes it.

        >>> str(ProgramStep(263.15, 7200.0)), str(ProgramStep(313.15, math.inf))
        ('-10 degC for 2 h', '40 degC until dry')
        """
        shelf = in_file(self.shelf, "temperature")
        return f"{shelf} until dry" if self.duration == math.inf else f"{shelf} for {in_file(self.duration, 'time')}"


@dataclass(frozen=True)
class Held:
    """Pressure and shelf that are held for the whole run.

    chamber_pressure: of all gas in the chamber [Pa]
    shelf_temperature: in place of a program, or None [K]
    upper_temperature: of the plate above, or None for that of the shelf [K]
    surroundings: of what the food sees above it in place of a plate, walls and door, or None [K]
    air_pressure: of that in the chamber which is no water vapour, or None for none [Pa]
    """

    chamber_pressure: float | None
    shelf_temperature: float | None = None
    upper_temperature: float | None = None
    surroundings: float | None = None
    air_pressure: float | None = None


@dataclass(frozen=True)
class RigSpec:
    """A dryer and its program, as they are asked for.

    profile: name of a generic dryer, or empty
    numbers: that replace those of the profile, by their names in `Dryer`, SI
    shelf: steps of the program
    freeze: one of `FREEZERS`
    freeze_to: core temperature at which freezing ends, or None for the usual one [K]
    held: pressure and shelf are held, or None for the real machine
    overload: run although there is more water than the trap holds
    """

    profile: str = ""
    numbers: Mapping[str, float] = field(default_factory=dict)
    shelf: tuple[ProgramStep, ...] = ()
    freeze: str = FREEZERS[0]
    freeze_to: float | None = None
    held: Held | None = None
    overload: bool = False


@dataclass(frozen=True)
class LayerSpec:
    """What replaces values of the dried layer.

    R0: resistance without a dried layer [m/s]
    A1: its rise with thickness [1/s]
    A2: saturation of that rise [1/m]
    conductivity: of the dried layer, at any pressure [W/(m K)]
    """

    R0: float | None = None
    A1: float | None = None
    A2: float | None = None
    conductivity: float | None = None


@dataclass(frozen=True)
class HeatSpec:
    """What replaces heat transfer and density.

    contact: heat transfer from the shelf [W/(m2 K)]
    above: heat transfer from above [W/(m2 K)]
    frozen_conductivity: of the frozen food [W/(m K)]
    bulk_density: of the fresh food [kg/m3]
    ice_mass: ice at the start of drying [kg]
    """

    contact: float | None = None
    above: float | None = None
    frozen_conductivity: float | None = None
    bulk_density: float | None = None
    ice_mass: float | None = None


@dataclass(frozen=True)
class AreaSpec:
    """What replaces the areas that follow from mass and shape.

    outer: area that vapour leaves by [m2]
    contact: area resting on the tray [m2]
    above: area facing the heater above [m2]
    """

    outer: float | None = None
    contact: float | None = None
    above: float | None = None


@dataclass(frozen=True)
class TraySpec:
    """Food on a tray, or on a part of one, as it is asked for; what is None takes its usual value.

    food: what it is
    mass: fresh mass [kg]
    size: thickness, diameter or edge [m]
    shape: slab, stick, sphere or cube
    width: of a slice or a stick; none [m]
    length: of a slice or a stick; none [m]
    faces: faces of a slab that dry, 1 or 2; as what it lies on lets it
    packing: one of `pieces.PACKINGS`; the usual one of the food and its shape
    on: one of `pieces.SURFACES`
    wrapper: one of `pieces.WRAPPERS`
    opening: share of the wrapper that is open; the usual one [-]
    wrapper_mass: of all its wrappers, not in `mass` [kg]
    area: of the tray that it covers; as follows from mass, size and packing [m2]
    frozen: it goes in frozen
    start_temperature: when it goes in [K]
    final_moisture: wished residual moisture, wet basis [-]
    ice_mass: ice at the start of drying [kg]
    tray: number of its tray from 1 at the top; the next one with room
    dried_layer: what replaces values of the dried layer
    heat: what replaces heat transfer and density
    areas: what replaces areas
    skin_state: of `drystow.properties.skin.SKIN_STATES`; as usual for the food
    name: what it is called in this load, empty where as the food
    """

    food: Food
    mass: float
    size: float
    shape: str = "slab"
    width: float | None = None
    length: float | None = None
    faces: int | None = None
    packing: str | None = None
    on: str = SURFACES[0]
    wrapper: str = WRAPPERS[0]
    opening: float | None = None
    wrapper_mass: float | None = None
    area: float | None = None
    frozen: bool = False
    start_temperature: float | None = None
    final_moisture: float | None = None
    ice_mass: float | None = None
    tray: int | None = None
    dried_layer: LayerSpec = LayerSpec()
    heat: HeatSpec = HeatSpec()
    areas: AreaSpec = AreaSpec()
    skin_state: str | None = None
    name: str = ""


@dataclass(frozen=True)
class LoadSpec:
    """A load as it is asked for.

    rig: dryer and program
    trays: food
    title: of the load
    """

    rig: RigSpec
    trays: tuple[TraySpec, ...]
    title: str = msg("Untitled load")


@dataclass(frozen=True)
class Rig:
    """A dryer set to run.

    dryer: the machine
    profile: name of its generic profile, or empty
    program: shelf steps, at least one
    freeze_to: core temperature at which freezing ends [K]
    freezer: dryer or household freezer
    pressure: chamber pressure held for the whole run, or None [Pa]
    upper_offset: upper plate minus shelf while held [K]
    surroundings: of what food sees above it while held, 0 for the plate above [K]
    air_pressure: of gas that does not condense while held [Pa]
    notes: sentences for the result
    """

    dryer: Dryer
    profile: str
    program: tuple[ProgramStep, ...]
    freeze_to: float
    freezer: str = FREEZERS[0]
    pressure: float | None = None
    upper_offset: float = 0.0
    surroundings: float = 0.0
    air_pressure: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def held(self) -> bool:
        """Pressure and shelf are held, geometry is taken as written."""
        return self.pressure is not None


@dataclass(frozen=True)
class Load:
    """Everything that one run needs.

    title: of the load
    rig: dryer and program
    items: food on the trays
    overload: run although there is more water than the trap holds
    notes: sentences for the result
    """

    title: str
    rig: Rig
    items: tuple[TrayItem, ...]
    overload: bool = False
    notes: tuple[str, ...] = ()
