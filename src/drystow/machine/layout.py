"""Columns of the number arrays that the compiled code reads and fills.

Compiled code takes arrays, not dataclasses, so that one loop runs thousands of loads: every number in them has its name
here. A name costs nothing, since the compiler turns it into its number.
"""

from enum import IntEnum
from typing import NamedTuple

from drystow.numerics import Array


class Tray(IntEnum):
    """Columns of the tray array, one row per tray item."""

    DIMENSION = 0  # shape number: volume over outer area is the length over it; 1 slab, 2 stick, 3 sphere or cube [-]
    RESTING = 1  # 1: dries from one side and stays frozen to what it lies on, 0: dried layer all around
    ICE = 2  # ice at the start of drying [kg]
    SOLIDS = 3  # dry mass [kg]
    UNFROZEN = 4  # unfrozen water at the start per dry mass [kg/kg]
    LENGTH = 5  # way that dries: thickness, half thickness or radius [m]
    OUTER = 6  # area that vapour leaves by [m2]
    CONTACT = 7  # area on the tray [m2]
    ABOVE = 8  # area facing the heater above [m2]
    R0 = 9  # resistance at zero depth, with that of a skin or a wrapper [m/s]
    A1 = 10  # resistance slope [1/s]
    A2 = 11  # resistance saturation [1/m]
    VISCOUS = 12  # relative rise of the layer's permeability with pressure [1/Pa]
    KD_VACUUM = 13  # dried layer conductivity without gas [W/(m K)]
    KD_GAS = 14  # its rise with gas [W/(m K)]
    KD_PRESSURE = 15  # pressure of half the rise [Pa]
    KV_CONSTANT = 16  # contact heat transfer without gas [W/(m2 K)]
    KV_GAS = 17  # its rise with pressure [W/(m2 K Pa)]
    KV_SATURATION = 18  # its saturation [1/Pa]
    H_ABOVE = 19  # heat transfer from above [W/(m2 K)]
    K_FROZEN = 20  # frozen food conductivity [W/(m K)]
    DESORPTION_RATE = 21  # of water up to the monolayer, at the reference temperature [1/s]
    DESORPTION_ENERGY = 22  # activation energy over the gas constant [K]
    MONOLAYER = 23  # GAB, dry basis [-]
    GAB_C = 24
    GAB_K = 25
    SORPTION_HEAT = 26  # net heat of sorption over the gas constant [K]
    HEAT_CAPACITY = 27  # of the dry solids [J/(kg K)]
    TARGET = 28  # wished moisture, dry basis [-]
    LIMIT = 29  # front temperature limit [K]
    THAW = 30  # initial freezing point [K]


class Machine(IntEnum):
    """Entries of the machine array."""

    HELD = 0  # 1: pressure and shelf held
    HELD_PRESSURE = 1  # [Pa]
    UPPER_OFFSET = 2  # upper plate minus shelf [K]
    SHELF_CAPACITY = 3  # [J/K]
    HEATER_POWER = 4  # [W]
    CONTROL_TIME = 5  # [s]
    WALL_CONDUCTANCE = 6  # shelf to trap [W/K]
    TRAP_CAPACITY = 7  # [kg]
    TRAP_AREA = 8  # [m2]
    TRAP_ICE_CONDUCTIVITY = 9  # [W/(m K)]
    VAPOUR_CONDUCTANCE = 10  # [kg/(s Pa)]
    CHOKED_CONDUCTANCE = 11  # [kg/(s Pa)]
    REFRIGERATION = 12  # at the reference temperature [W]
    REFRIGERATION_REFERENCE = 13  # [K]
    REFRIGERATION_SLOPE = 14  # [1/K]
    TRAP_FLOOR = 15  # coldest evaporator [K]
    ROOM = 16  # [K]
    ROOM_CONDUCTANCE = 17  # room to trap [W/K]
    COMPRESSOR_POWER = 18  # at the reference temperature [W]
    COMPRESSOR_SLOPE = 19  # [1/K]
    AIR_PRESSURE = 20  # of the gas that does not condense: leak over pump speed plus ultimate pressure [Pa]
    PRESSURE_LIMIT = 21  # heaters pause above it, 0 for none [Pa]
    SURROUNDINGS = 22  # what the food sees above it, 0: the shelf above [K]


class State(IntEnum):
    """Entries of the state that belong to the machine; those of the tray items follow."""

    SHELF = 0  # [K]
    TRAP_ICE = 1  # [kg]
    FOOD_HEAT = 2  # into the food so far [J]
    SUBLIMATION_HEAT = 3  # of that, what turned ice to vapour [J]
    HEATER_ENERGY = 4  # [J]
    COMPRESSOR_ENERGY = 5  # [J]


class ItemState(IntEnum):
    """Entries of the state that belong to a tray item, counted from its first."""

    FRACTION = 0  # measure u of the ice left: 1 at the start, 0 when it is gone (dried_layer.py) [-]
    WATER = 1  # that is not ice, per dry mass of the outermost cell; those of the cells below follow [kg/kg]
    TEMPERATURE = 4  # of the dried food, once the ice is gone [K]


CELLS = 3  # equal shares of the dry mass of a tray item, from outside to inside, whose water is followed
MACHINE_STATES, STATES_PER_TRAY = len(State), ItemState.TEMPERATURE + 1


class ChamberState(IntEnum):
    """Entries of what the chamber and the trap are like at one moment; the last moment's are the first guess."""

    PRESSURE = 0  # [Pa]
    FLOW = 1  # of vapour to the trap [kg/s]
    TRAP_SURFACE = 2  # of its ice [K]
    EVAPORATOR = 3  # [K]
    CHOKED = 4  # 1: vapour passes the opening to the trap at the speed of sound
    REFRIGERATION_LOAD = 5  # [W]
    DESORBED = 6  # water that is not ice and leaves all trays [kg/s]


class FoodState(IntEnum):
    """Columns of what each tray item is like at one moment; the last moment's front is the first guess.

    All in one array, since compiled code pays for every array that it hands on.
    """

    FRONT = 0  # ice front, the dried food where the ice is gone [K]
    MEAN_TEMPERATURE = 1  # of the dried layer [K]
    SUBLIMATION = 2  # [kg/s]
    DESORPTION = 3  # [kg/s]
    CONTACT_HEAT = 4  # from the tray below [W]
    ABOVE_HEAT = 5  # from the shelf above [W]
    CONTACT = 6  # conductance from below to the front [W/K]
    CONTACT_SLOPE = 7  # of that with pressure [W/(K Pa)]
    ABOVE = 8  # conductance from above [W/K]
    ABOVE_SLOPE = 9  # of that with pressure [W/(K Pa)]
    THROUGH = 10  # resistance of the dried layer to heat [m2 K/W]
    OUTSIDE = 11  # resistance to heat between heaters and dried layer, per outer area [m2 K/W]
    MOVE = 12  # of the front in the last Newton step [K]
    MOVE_SLOPE = 13  # of that with pressure [K/Pa]
    LATENT = 14  # heat of sublimation before that move [J/kg]
    CONTACT_BEFORE = 15  # heat from below before that move [W]
    ABOVE_BEFORE = 16  # heat from above before that move [W]
    SINK = 17  # heat of desorption that is missing at the front [W]
    MORE = 18  # heat of desorption that the heaters give beyond what reaches the front [W]
    DESORPTION_SLOPE = 19  # of the desorption with pressure [kg/(s Pa)]
    BACK = 20  # pressure that the desorbed vapour needs to pass the surface, a skin or a wrapper [Pa]
    WATER_SLOPE = 21  # rate of change of the water of the outermost cell; those of the cells below follow [1/s]


CHAMBER_STATES, FOOD_STATES = len(ChamberState), FoodState.WATER_SLOPE + CELLS


class ProgramRow(IntEnum):
    """Columns of a program."""

    DURATION = 0  # infinite: until dry [s]
    SETPOINT = 1  # [K]


class TrayTime(IntEnum):
    """Columns of what is noted of each tray item, NaN: never; times from the start of drying."""

    ICE_GONE = 0  # [s]
    DRY = 1  # [s]
    LIMIT_PASSED = 2  # [s]
    THAWED = 3  # [s]
    FRONT_START = 4  # [K]
    FRONT_MAX = 5  # [K]
    FRONT_END = 6  # last front while there was ice [K]


class EventTime(IntEnum):
    """Entries of what is noted of the machine, first times NaN: never."""

    CHOKED = 0  # first time [s]
    HEATER_FULL = 1  # first time at full power below the set-point [s]
    HEATER_FULL_LASTED = 2  # in all [s]
    HELD_BACK = 3  # first time that the pressure limit holds the heaters back [s]
    HELD_BACK_LASTED = 4  # in all [s]
    PEAK_FLOW = 5  # of vapour [kg/s]
    PEAK_PRESSURE = 6  # [Pa]


class MachineRecord(IntEnum):
    """Columns of a record over time that belong to the machine; those of the tray items follow."""

    TIME = 0  # [s]
    SHELF = 1  # [K]
    PRESSURE = 2  # [Pa]
    TRAP_SURFACE = 3  # [K]
    FLOW = 4  # of vapour to the trap [kg/s]
    TRAP_ICE = 5  # [kg]
    HEATER_ENERGY = 6  # [J]
    COMPRESSOR_ENERGY = 7  # [J]


class ItemRecord(IntEnum):
    """Columns of a record that belong to a tray item, counted from its first."""

    DRIED = 0  # share of the ice that is gone [-]
    TEMPERATURE = 1  # of the ice front, then of the dried food [K]
    MOISTURE = 2  # all water, dry basis [-]
    WATER = 3  # that is not ice, per dry mass of the outermost cell; those of the cells below follow [kg/kg]


MACHINE_RECORD, RECORD_PER_TRAY = len(MachineRecord), ItemRecord.WATER + CELLS


class Balance(NamedTuple):
    """What the balance of one moment reads and fills; its inner loops take the arrays one by one, which is quicker.

    trays: `Tray`, a row for each tray item
    machine: `Machine`
    foods: `FoodState`, a row for each tray item
    chamber_state: `ChamberState`
    """

    trays: Array
    machine: Array
    foods: Array
    chamber_state: Array


class Log(NamedTuple):
    """What a run writes down.

    tray_times: `TrayTime`, a row for each tray item
    event_times: `EventTime`
    series: records over time, `MachineRecord` and then `ItemRecord` of each tray item; no rows: none are kept
    """

    tray_times: Array
    event_times: Array
    series: Array
