"""A power cut, and what it did."""

from dataclasses import dataclass

from drystow.evidence.band import Band
from drystow.numerics import Array


@dataclass(frozen=True)
class Outage:
    """A time without power.

    start: since drying began [s]
    duration: until the power came back [s]
    opened: the chamber was opened; otherwise it stayed closed under what vacuum was left
    room: temperature of the room [K]
    """

    start: float
    duration: float
    opened: bool = False
    room: float = 294.15


@dataclass(frozen=True)
class TrayOutage:
    """One tray item over an outage.

    name: food on the tray
    ice_before: when the power went [kg]
    ice_left: when it came back [kg]
    melted: of the ice [kg]
    core: temperature of the frozen food or what became of it, at the end; of all the food where no ice was left [K]
    dried: temperature of the dried part at the end [K]
    highest: warmest the food got, at the warm edge of what is frozen [K]
    above_cold: time of moist food above 4 °C, at that edge [s]
    above_freezing: time of it above the food's freezing point [s]
    delay: later end of this tray's drying [s]
    advice: go_on, refreeze, cook or discard
    words: why
    times: moments since the power went [s]
    core_course: low, middle and high core temperature over time [K]
    """

    name: str
    ice_before: Band
    ice_left: Band
    melted: Band
    core: Band
    dried: Band
    highest: Band
    above_cold: Band
    above_freezing: Band
    delay: Band
    advice: str
    words: str
    times: Array
    core_course: Array


@dataclass(frozen=True)
class OutageResult:
    """What an outage did.

    trays: one for each item of the load
    shelf: temperature of the shelves at the end [K]
    trap: ice and water on the trap at the end, no colder than [K]
    pressure: of air in the chamber at the end [Pa]
    delay: later end of the whole run, food that melted frozen again first [s]
    refreezing: the part of that in which food is frozen again [s]
    shift: 10th, 50th and 90th percentile of the ends with the cut over those without it [s]
    notes: sentences on what else to do and what is not known
    cautions: always to be shown
    sources: keys
    """

    trays: tuple[TrayOutage, ...]
    shelf: Band
    trap: Band
    pressure: Band
    delay: Band
    refreezing: Band
    shift: tuple[float, float, float]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
