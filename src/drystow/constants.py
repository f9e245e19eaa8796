"""Physical constants, SI, each with its source key."""

ZERO_CELSIUS = 273.15
"""0 °C [K]. Source: definition."""

GAS_CONSTANT = 8.314462618
"""Molar gas constant [J/(mol K)]. Source: codata2018."""

WATER_MOLAR_MASS = 0.018015268
"""Molar mass of water [kg/mol]. Source: iapws-constants."""

VAPOUR_GAS_CONSTANT = GAS_CONSTANT / WATER_MOLAR_MASS
"""Specific gas constant of water vapour [J/(kg K)]. Source: definition."""

STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant [W/(m2 K4)]. Source: codata2018."""

ATMOSPHERE = 101325.0
"""Standard atmosphere [Pa]. Source: definition."""

ICE_DENSITY = 917.0
"""Density of ice near 0 °C [kg/m3]. Source: walstra."""

ICE_CONDUCTIVITY = 2.24
"""Conductivity of clear ice at 0 °C [W/(m K)]. Source: walstra."""

FUSION_HEAT = 333.6e3
"""Heat of fusion of water at 0 °C [J/kg]. Source: ashrae-ch19."""

VAPOUR_HEAT_CAPACITY = 1870.0
"""Heat capacity of water vapour at low pressure [J/(kg K)]. Source: drying-notes."""

OXYGEN_IN_AIR = 0.2095
"""Oxygen in dry air by volume [-]. Source: us-standard-atmosphere."""

NO_GROWTH = 0.60
"""Below this water activity nothing grows [-]. Source: shelf-stable-aw."""

IRON_OXYGEN_STOICHIOMETRY = 0.75
"""Moles of oxygen taken up per mole of iron in 4 Fe + 3 O2 + 6 H2O -> 4 Fe(OH)3 [-]. Source: definition."""

IRON_MOLAR_MASS = 0.055845
"""Molar mass of iron [kg/mol]. Source: iupac."""
