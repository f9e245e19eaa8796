"""A batch dryer by its engineering numbers."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from drystow import units
from drystow.errors import InputError, InputErrors, unknown
from drystow.machine.layout import Machine
from drystow.messages import Message, msg
from drystow.numerics import Array
from drystow.properties.water import choked_mass_flux
from drystow.ranges import RANGES, Range
from drystow.shown import DISPLAY, between, quantity
from drystow.units import as_written, in_file, parse

DISCHARGE = 0.7  # coefficient of a real port against the ideal one; memory, between 0.6 and 0.9
PORT_TEMPERATURE = 280.0  # of the vapour in the port [K]
_OF = RANGES["dryer"]


@dataclass(frozen=True)
class Dryer:
    """A batch freeze dryer; every number can be replaced.

    words: short description; by tray area and ice held where none is written
    trays: number of trays
    tray_area: of one tray [m2]
    rim_height: depth of a tray [m]
    heater_power: all shelf heaters together [W]
    shelf_heat_capacity: all shelves and trays [J/K]
    shelf_highest: warmest shelf the machine can be set to [K]
    control_time: pace of the shelf thermostat [s]
    pressure_limit: chamber pressure above which the heaters pause; 0 for none [Pa]
    contact_constant: heat transfer from shelf to food without gas [W/(m2 K)]
    contact_gas: its rise with pressure [W/(m2 K Pa)]
    contact_saturation: saturation of that rise [1/Pa]
    above: heat transfer from the shelf above [W/(m2 K)]
    trap_capacity: ice that the vapour trap holds [kg]
    trap_area: its cold surface [m2]
    trap_ice_conductivity: of the ice on it [W/(m K)]
    vapour_conductance: from chamber to trap [kg/(s Pa)]
    choked_area: narrowest opening on the way to the trap [m2]
    refrigeration: heat that the refrigerator removes at its reference temperature [W]
    refrigeration_reference: evaporator temperature of that figure [K]
    refrigeration_slope: relative rise per kelvin warmer [1/K]
    trap_floor: coldest evaporator [K]
    room: room temperature [K]
    room_conductance: heat leak from the room to the trap [W/K]
    wall_conductance: heat leak from the shelves to the trap [W/K]
    compressor_power: electricity of the refrigerator at the reference [W]
    compressor_slope: relative rise per kelvin warmer [1/K]
    pump_power: electricity of the vacuum pump [W]
    pump_speed: for air [m3/s]
    leak: air leaking in [Pa m3/s]
    ultimate_pressure: of the pump with the chamber empty and dry [Pa]
    chamber_volume: of the empty chamber [m3]
    freezer_temperature: air in the chamber while freezing [K]
    freezer_air: heat transfer to that air [W/(m2 K)]
    freezer_base: heat transfer to the tray below [W/(m2 K)]
    freezer_power: heat that freezing can remove [W]
    """

    words: str
    trays: int
    tray_area: float
    rim_height: float
    heater_power: float
    shelf_heat_capacity: float
    shelf_highest: float
    control_time: float
    pressure_limit: float
    contact_constant: float
    contact_gas: float
    contact_saturation: float
    above: float
    trap_capacity: float
    trap_area: float
    trap_ice_conductivity: float
    vapour_conductance: float
    choked_area: float
    refrigeration: float
    refrigeration_reference: float
    refrigeration_slope: float
    trap_floor: float
    room: float
    room_conductance: float
    wall_conductance: float
    compressor_power: float
    compressor_slope: float
    pump_power: float
    pump_speed: float
    leak: float
    ultimate_pressure: float
    chamber_volume: float
    freezer_temperature: float
    freezer_air: float
    freezer_base: float
    freezer_power: float

    @property
    def air_pressure(self) -> float:
        """Pressure of leaked air over the pump [Pa]."""
        return self.ultimate_pressure + self.leak / self.pump_speed

    @property
    def pump_down(self) -> float:
        """Time from air to 100 Pa [s]."""
        return self.chamber_volume / self.pump_speed * float(np.log(101325.0 / 100.0))


@cache
def _rows() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("drystow.machine").joinpath("profiles.toml").read_text(encoding="utf-8"))


def _words(trays: int, tray_area: float, trap_capacity: float) -> Message:
    """Return what a dryer is called: how large its trays are together and how much ice it holds."""
    return msg(
        "dryer with {area} of trays that holds {ice} of ice",
        area=quantity(trays * tray_area, "tray area", short=True),
        ice=quantity(trap_capacity, "mass", 1, short=True),
    )


def profile_names() -> tuple[str, ...]:
    """Return the names of the generic dryers."""
    return tuple(_rows())


@cache
def dryer_profile(name: str) -> Dryer:
    """Return a generic dryer by name.

    name: one of `profile_names()`
    """
    if name not in _rows():
        raise unknown("profile", str(name), _rows(), msg("set of starting numbers"))
    return machine_of("", read_numbers(_rows()[name]))


def read_numbers(raw: Mapping[str, Any]) -> dict[str, Any]:
    """Return the numbers of a dryer in SI; raises `InputErrors` naming each that cannot be.

    raw: field names with written quantities
    """
    values: dict[str, Any] = {}
    problems: list[InputError] = []
    for name, written in raw.items():
        try:
            values[name] = _checked(name, _number(name, written), str(written))
        except InputError as problem:
            problems.append(problem)
    if problems:
        raise InputErrors(problems)
    return values


def machine_of(profile: str, numbers: Mapping[str, Any]) -> Dryer:
    """Return the dryer of some numbers; raises `InputErrors` naming each that cannot be.

    profile: generic dryer that has the numbers which are missing, or empty
    numbers: by field, SI; the words of a dryer may be among them
    """
    base = dryer_profile(profile) if profile else None
    problems: list[InputError] = []
    values: dict[str, Any] = {}
    for name, value in numbers.items():
        try:
            values[name] = _checked(name, value)
        except InputError as problem:
            problems.append(problem)
    for name in _OF:
        if base is not None and name not in numbers:
            values[name] = getattr(base, name)
        elif name not in numbers:
            problems.append(InputError(name, msg("is missing; write it, or name starting numbers as profile")))
    if problems:
        raise InputErrors(problems)
    words = _words(values["trays"], values["tray_area"], values["trap_capacity"])
    return Dryer(**{"words": words, **values})


def numbers_in_notation(numbers: Mapping[str, Any]) -> dict[str, Any]:
    """Return the numbers of a dryer as a file writes them.

    numbers: by field, SI
    """
    kinds = {name: _OF[name].kind if name in _OF else "" for name in numbers}
    return {name: in_file(value, kinds[name]) if kinds[name] else value for name, value in numbers.items()}


def _number(name: str, written: Any) -> Any:
    allowed = _OF.get(name)
    return parse(written, allowed.kind, name) if allowed and allowed.kind else written


def _checked(name: str, value: Any, written: str = "") -> Any:
    """Return a number as the dryer takes it.

    written: the same as a file has it, where it comes from one
    """
    if name == "words":
        return value if isinstance(value, str) else str(value)
    if name not in _OF:
        raise unknown(name, name, (*_OF, "words"), msg("dryer number"))
    allowed = _OF[name]
    if allowed.kind:
        if not allowed.holds(value):
            bounds = _bounds(allowed)
            told = written or in_file(value, allowed.kind)
            problem = msg("'{value}' is out of range for a batch dryer ({bounds})", value=told, bounds=bounds)
            raise InputError(name, problem)
        return value
    whole = name == "trays"
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and allowed.holds(value)
    if not good or (whole and int(value) != value):
        raise InputError(
            name,
            msg(
                "{value} is not allowed; write {what} from {least:g} to {most:g}",
                value=as_written(value),
                what=allowed.words,
                least=allowed.low,
                most=allowed.high,
            ),
        )
    return int(value) if whole else float(value)


def _bounds(allowed: Range) -> str:
    if allowed.kind in DISPLAY:
        return between(allowed.low, allowed.high, allowed.kind)
    unit = units.KINDS[allowed.kind][0]
    return msg("{low:g} to {high:g} {unit}", low=allowed.low, high=allowed.high, unit=unit)


def machine_array(
    dryer: Dryer,
    held_pressure: float | None = None,
    upper_offset: float = 0.0,
    surroundings: float = 0.0,
    held_air: float = 0.0,
) -> Array:
    """Return the numbers of a dryer in the order the compiled balance reads.

    dryer: the machine
    held_pressure: chamber pressure to hold, None for the real machine [Pa]
    upper_offset: upper plate minus shelf temperature [K]
    surroundings: of what food in a held chamber sees above it, 0 for a plate [K]
    held_air: pressure of air in a held chamber [Pa]
    """
    row = np.zeros(len(Machine))
    choked = DISCHARGE * dryer.choked_area * float(choked_mass_flux(1.0, PORT_TEMPERATURE))
    entries: dict[int, float] = {
        Machine.HELD: 0.0 if held_pressure is None else 1.0,
        Machine.HELD_PRESSURE: held_pressure or 0.0,
        Machine.UPPER_OFFSET: upper_offset,
        Machine.SHELF_CAPACITY: dryer.shelf_heat_capacity,
        Machine.HEATER_POWER: dryer.heater_power,
        Machine.CONTROL_TIME: dryer.control_time,
        Machine.WALL_CONDUCTANCE: dryer.wall_conductance,
        Machine.TRAP_CAPACITY: dryer.trap_capacity,
        Machine.TRAP_AREA: dryer.trap_area,
        Machine.TRAP_ICE_CONDUCTIVITY: dryer.trap_ice_conductivity,
        Machine.VAPOUR_CONDUCTANCE: dryer.vapour_conductance,
        Machine.CHOKED_CONDUCTANCE: choked,
        Machine.REFRIGERATION: dryer.refrigeration,
        Machine.REFRIGERATION_REFERENCE: dryer.refrigeration_reference,
        Machine.REFRIGERATION_SLOPE: dryer.refrigeration_slope,
        Machine.TRAP_FLOOR: dryer.trap_floor,
        Machine.ROOM: dryer.room,
        Machine.ROOM_CONDUCTANCE: dryer.room_conductance,
        Machine.COMPRESSOR_POWER: dryer.compressor_power,
        Machine.COMPRESSOR_SLOPE: dryer.compressor_slope,
        Machine.AIR_PRESSURE: dryer.air_pressure if held_pressure is None else held_air,
        Machine.PRESSURE_LIMIT: dryer.pressure_limit,
        Machine.SURROUNDINGS: surroundings,
    }
    for column, value in entries.items():
        row[column] = value
    return row
