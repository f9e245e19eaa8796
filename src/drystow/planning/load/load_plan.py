"""What a planned load gives back."""

from dataclasses import dataclass

import numpy as np

from drystow.machine.load import Load, LoadSpec
from drystow.numerics import Array


@dataclass(frozen=True)
class Times:
    """When something is over, since the food went in; 10, 50, 80 and 90% of the members have reached it by then.

    p10: early [s]
    p50: likely [s]
    p80: what a plan counts on [s]
    p90: late [s]
    """

    p10: float
    p50: float
    p80: float
    p90: float


def last_dry(dry: Array) -> Array:
    """Return when every tray of each member is dry; infinite: never [s].

    dry: per member and tray, NaN: never [s]
    """
    ends: Array = np.where(np.isnan(dry), np.inf, dry).max(axis=1)
    return ends


def times_of(ends: Array) -> Times:
    """Return by when the members have reached something.

    ends: per member; NaN or infinite: never [s]
    """
    filled = np.where(np.isnan(ends), np.inf, ends)
    return Times(*(float(np.percentile(filled, percent, method="nearest")) for percent in (10.0, 50.0, 80.0, 90.0)))


@dataclass(frozen=True)
class PlannedTray:
    """One food on one tray.

    tray: number from 1, top to bottom
    food: number of the food on the counter, from 0
    name: of the food
    shape: slab, stick, sphere or cube
    size: thickness, diameter or edge [m]
    mass: fresh food on this tray [kg]
    dry: when it is dry
    over: how much its ice front passes its limit in the plain simulation, negative below it [K]
    """

    tray: int
    food: int
    name: str
    shape: str
    size: float
    mass: float
    dry: Times
    over: float


@dataclass(frozen=True)
class LeftOver:
    """Food that stays on the counter.

    food: its number, from 0
    name: of the food
    mass: what is left [kg]
    rule: that keeps it out: germs, smells, allergens, colours, trays, trap, freezing, melts, never dry, time or value
    words: one sentence
    """

    food: int
    name: str
    mass: float
    rule: str
    words: str


@dataclass(frozen=True)
class Cost:
    """What another choice would cost or save.

    food: its number, from 0
    kind: thickness or tray
    time: later end of the load, negative when it ends sooner [s]
    mass: more food dried, negative for less [kg]
    words: one sentence
    """

    food: int
    kind: str
    time: float
    mass: float
    words: str


@dataclass(frozen=True)
class Refusal:
    """Why a wish cannot be met.

    rule: that cannot be kept
    foods: numbers of the foods concerned, from 0
    words: why
    instead: what the nearest plan does
    """

    rule: str
    foods: tuple[int, ...]
    words: str
    instead: str


@dataclass(frozen=True)
class LoadPlan:
    """The best load found, or the nearest one when the wish cannot be met.

    title: of the load
    wished: time [s]
    refusal: why the wish is not met, None when it is
    trays: from top to bottom
    left: what stays on the counter, and why
    end: of the load
    mass: of all the food that is dried [kg]
    value: of it [-]
    water: in it; the ice that the trap gets [kg]
    capacity: ice that the trap takes [kg]
    energy: electricity of the run [J]
    costs: what other choices would cost or save
    cautions: what to mind
    notes: on limits and assumptions
    load: for the simulation
    spec: the same as it is asked for, to be written
    runs: simulations of the search
    members: of the ensemble behind the times
    """

    title: str
    wished: float
    refusal: Refusal | None
    trays: tuple[PlannedTray, ...]
    left: tuple[LeftOver, ...]
    end: Times
    mass: float
    value: float
    water: float
    capacity: float
    energy: float
    costs: tuple[Cost, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    load: Load
    spec: LoadSpec
    runs: int
    members: int

    @property
    def energy_per_mass(self) -> float:
        """Electricity per kilogram of fresh food [J/kg]."""
        return self.energy / self.mass
