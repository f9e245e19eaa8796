"""Columns of the number arrays that the compiled balance reads."""

from enum import IntEnum


class Tray(IntEnum):
    """Columns of the tray array, one row per tray item."""

    SHAPE = 0  # 0 slab dried from one face, 1 slab dried from two faces, 2 stick, 3 sphere or cube
    ICE = 1  # ice at the start of drying [kg]
    SOLIDS = 2  # dry mass [kg]
    BOUND = 3  # unfrozen water at the start per dry mass [kg/kg]
    LENGTH = 4  # thickness, half thickness or radius [m]
    OUTER = 5  # area that vapour leaves by [m2]
    CONTACT = 6  # area on the tray [m2]
    ABOVE = 7  # area facing the heater above [m2]
    R0 = 8  # resistance at zero depth [m/s]
    A1 = 9  # resistance slope [1/s]
    A2 = 10  # resistance saturation [1/m]
    KD_VACUUM = 11  # dried layer conductivity without gas [W/(m K)]
    KD_GAS = 12  # its rise with gas [W/(m K)]
    KD_PRESSURE = 13  # pressure of half the rise [Pa]
    KV_CONSTANT = 14  # contact heat transfer without gas [W/(m2 K)]
    KV_GAS = 15  # its rise with pressure [W/(m2 K Pa)]
    KV_SATURATION = 16  # its saturation [1/Pa]
    H_ABOVE = 17  # heat transfer from above [W/(m2 K)]
    K_FROZEN = 18  # frozen food conductivity [W/(m K)]
    DESORPTION_RATE = 19  # at the reference temperature [1/s]
    DESORPTION_ENERGY = 20  # activation energy over the gas constant [K]
    MONOLAYER = 21  # GAB, dry basis [-]
    GAB_C = 22
    GAB_K = 23
    SORPTION_HEAT = 24  # net heat of sorption over the gas constant [K]
    HEAT_CAPACITY = 25  # of the dry solids [J/(kg K)]
    TARGET = 26  # wished moisture, dry basis [-]
    LIMIT = 27  # front temperature limit [K]
    THAW = 28  # initial freezing point [K]


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
    AIR_PRESSURE = 20  # leak over pump speed plus ultimate pressure [Pa]
    PRESSURE_LIMIT = 21  # heaters pause above it, 0 for none [Pa]


STATES_PER_TRAY = 3  # fraction measure u, bound water in the dried part [kg], dried food temperature [K]
MACHINE_STATES = 6  # shelf [K], trap ice [kg], heat into food [J], sublimation heat [J], heater [J], compressor [J]
