"""The load in the dryer: trays, machine, program, simulation."""
