"""A load: food on trays, a dryer, and the program that the operator sets."""

import math
from dataclasses import dataclass

from drystow.machine.item import TrayItem
from drystow.machine.profile import Dryer
from drystow.units import SI

LONGEST = 20 * 24 * 3600.0
"""Longest run that is simulated [s]. Source: drystow-default."""


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
        shelf = SI(self.shelf, "temperature")
        return f"{shelf} until dry" if self.duration == math.inf else f"{shelf} for {SI(self.duration, 'time')}"


@dataclass(frozen=True)
class Load:
    """Everything that one run needs.

    title: of the load
    dryer: the machine
    profile: name of its generic profile, or empty
    items: food on the trays
    program: shelf steps, at least one
    freeze_to: core temperature at which freezing ends [K]
    freezer: dryer or household freezer
    pressure: chamber pressure held for the whole run, or None [Pa]
    upper_offset: upper plate minus shelf while held [K]
    overload: run although there is more water than the trap holds
    notes: sentences for the result
    """

    title: str
    dryer: Dryer
    profile: str
    items: tuple[TrayItem, ...]
    program: tuple[ProgramStep, ...]
    freeze_to: float
    freezer: str = "dryer"
    pressure: float | None = None
    upper_offset: float = 0.0
    overload: bool = False
    notes: tuple[str, ...] = ()
