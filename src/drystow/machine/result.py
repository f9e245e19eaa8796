"""What a simulated load gives back."""

from dataclasses import dataclass, field

import numpy as np

from drystow.machine.pieces import Lie
from drystow.numerics import Array


def _empty() -> Array:
    return np.empty(0)


@dataclass(frozen=True)
class Event:
    """Something that happened during the run.

    time: since the food went in [s]
    kind: one of frozen, ice_gone, dry, collapse_limit, trap_full, choked, heater_full, heater_held_back, thaw
    tray: number of the tray item from 0, or None for the machine
    text: one plain sentence
    """

    time: float
    kind: str
    tray: int | None
    text: str


@dataclass(frozen=True)
class TrayResult:
    """One tray item over the whole run; times count from when the food went in.

    name: food on the tray
    mass: fresh mass [kg]
    solids: dry mass without any water [kg]
    water_start: water at the start [kg]
    ice_start: ice at the start of drying [kg]
    freezing_end: core frozen [s], 0 when it came frozen
    primary_end: the last ice is gone [s], None when it never was
    dry_end: target moisture reached [s], None when it never was
    front_temperature_start: at the beginning of drying [K]
    front_temperature_max: warmest ice front [K]
    front_temperature_end: just before the ice is gone [K]
    limit: front temperature at which ice melts or the structure collapses [K]
    target_moisture: wished residual moisture, wet basis [-]
    residual_moisture: at the end of the run, wet basis [-]
    food_temperature_end: mean temperature of the dried food at the end of the run [K]
    notes: sentences on limits, ranges and assumptions
    dried_fraction: share of the ice that is gone, over time [-]
    front_temperature: ice front, then the dried food, over time [K]
    moisture: mean water content, wet basis, over time [-]
    tray: number of the tray that it lies on, from 1 at the top
    bursts: its ice melts under a whole skin, so there is no time at which it is dry
    lie: how it lies on its tray, None where there is no tray
    wrapper_mass: of what it is in; weighed with it, never counted as food [kg]
    """

    name: str
    mass: float
    solids: float
    water_start: float
    ice_start: float
    freezing_end: float
    primary_end: float | None
    dry_end: float | None
    front_temperature_start: float
    front_temperature_max: float
    front_temperature_end: float
    limit: float
    target_moisture: float
    residual_moisture: float
    food_temperature_end: float
    notes: tuple[str, ...] = ()
    dried_fraction: Array = field(default_factory=_empty)
    front_temperature: Array = field(default_factory=_empty)
    moisture: Array = field(default_factory=_empty)
    tray: int = 1
    bursts: bool = False
    lie: Lie | None = None
    wrapper_mass: float = 0.0


@dataclass(frozen=True)
class MachineResult:
    """The machine over the whole run.

    trap_ice: ice on the vapour trap at the end [kg]
    trap_capacity: ice that the trap can hold [kg]
    peak_vapour: largest vapour flow [kg/s]
    peak_pressure: highest chamber pressure while drying [Pa]
    heater_energy: electricity into the shelf heaters [J]
    compressor_energy: electricity into the refrigeration [J]
    pump_energy: electricity into the vacuum pump [J]
    pressure_limit: chamber pressure above which the heaters pause; 0 for none [Pa]
    """

    trap_ice: float
    trap_capacity: float
    peak_vapour: float
    peak_pressure: float
    heater_energy: float
    compressor_energy: float
    pump_energy: float
    pressure_limit: float = 0.0

    @property
    def energy(self) -> float:
        """Electricity of the whole run [J]."""
        return self.heater_energy + self.compressor_energy + self.pump_energy


@dataclass(frozen=True)
class EnergyCourse:
    """Electricity used so far, over time, from when the food goes in.

    time: since the food went in [s]
    heaters: into the shelf heaters [J]
    refrigeration: into the refrigeration [J]
    pump: into the vacuum pump [J]
    """

    time: Array = field(default_factory=_empty)
    heaters: Array = field(default_factory=_empty)
    refrigeration: Array = field(default_factory=_empty)
    pump: Array = field(default_factory=_empty)


@dataclass(frozen=True)
class LoadResult:
    """A simulated load: named arrays, events, what ended it.

    title: of the load
    trays: one result per tray item, in the order of the load
    machine: machine totals
    total_time: from putting the food in to the end of the run [s]
    drying_start: vacuum and heat begin [s]
    ended_by: dry, program_end, trap_full, time_limit, stalled or melted
    ended_text: one sentence that says what ended the run and, if it is not dry, what held it back
    events: in order of time
    time: of the series [s]
    shelf_temperature: over time [K]
    chamber_pressure: over time [Pa]
    trap_temperature: surface of the trap's ice, over time [K]
    vapour: flow to the trap over time [kg/s]
    trap_ice: ice on the trap over time [kg]
    energy: electricity over time
    notes: sentences that concern the whole load
    sources: keys of the sources used
    """

    title: str
    trays: tuple[TrayResult, ...]
    machine: MachineResult
    total_time: float
    drying_start: float
    ended_by: str
    ended_text: str
    events: tuple[Event, ...] = ()
    time: Array = field(default_factory=_empty)
    shelf_temperature: Array = field(default_factory=_empty)
    chamber_pressure: Array = field(default_factory=_empty)
    trap_temperature: Array = field(default_factory=_empty)
    vapour: Array = field(default_factory=_empty)
    trap_ice: Array = field(default_factory=_empty)
    energy: EnergyCourse = field(default_factory=EnergyCourse)
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
