"""What is allowed of each value: one table that files, forms, programs and the engine share."""

from dataclasses import dataclass

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError
from drystow.messages import msg
from drystow.shown import between, quantity
from drystow.units import in_file

C0 = ZERO_CELSIUS
HOUR, DAY = 3600.0, 86400.0
YEAR = 365.25 * DAY
LONGEST = 20 * DAY
"""Longest run that is simulated [s]. Source: drystow-default."""


@dataclass(frozen=True, slots=True)
class Range:
    """What is allowed of one value.

    kind: of `drystow.units.KINDS`, empty for a plain number
    low: least, in SI
    high: most, in SI
    words: what is allowed, for a person; empty where low and high say it
    """

    kind: str
    low: float
    high: float
    words: str = ""

    @property
    def allowed(self) -> str:
        """What is allowed, for a person."""
        return self.words or between(self.low, self.high, self.kind)

    def holds(self, value: float) -> bool:
        """Return whether a value in SI is allowed."""
        return self.low <= value <= self.high

    def problem(self, field: str, written: str) -> InputError:
        """Return the problem with a value that is not allowed.

        field: its name
        written: the value, as a person wrote it
        """
        words = msg("'{value}' is out of range; write {allowed}", value=written.strip("'"), allowed=self.allowed)
        return InputError(field, words)


Ranges = dict[str, Range]
"""Name of a value -> what is allowed of it."""

CUT = Range("length", 2e-4, 0.2, msg("a length from 0.2 mm to 200 mm, such as '10 mm'"))
ALTITUDE = Range("altitude", -500.0, 9000.0, msg("-500 to 9000 m"))
DRY = Range("mass", 1e-4, 5000.0, msg("0.1 g to 5000 kg"))
SPACE = msg("a volume such as '60 L' or a weight up to 5000 kg")
_MUCH_ICE = msg("above 0 to {most}", most=quantity(1000, "mass", 0))

RANGES: dict[str, Ranges] = {
    # what a spec is of: its values by their names in files
    "tray": {
        "mass": Range(
            "mass", 1e-4, 500,
            msg("a weight above 0 and up to {most}, such as {example}", most=quantity(500, "mass", 0),
                example=quantity(0.8, "mass", 1)),
        ),
        "size": Range(
            "length", 2e-4, 0.2,
            msg("a length of {allowed}, such as {example}", allowed=between(2e-4, 0.2, "length", 1),
                example=quantity(0.013, "length", 1, short=True)),
        ),
        "width": Range("length", 2e-4, 2.0),
        "length": Range("length", 2e-4, 2.0),
        "area": Range("area", 1e-4, 20),
        "opening": Range("fraction", 0.0005, 1.0, msg("0.05% to 100%")),
        "wrapper_mass": Range("mass", 1e-5, 100, msg("above 0 to {most}", most=quantity(100, "mass", 0))),
        "start_temperature": Range("temperature", 173.15, 373.15),
        "final_moisture": Range("fraction", 0.001, 0.5, msg("0.1% to 50%")),
        "ice_mass": Range("mass", 1e-6, 1000, _MUCH_ICE),
    },
    "tray.dried_layer": {
        "R0": Range("resistance", 0.0, 1e15, msg("{low:g} or more", low=0.0)),
        "A1": Range("resistance slope", 0.0, 1e15, msg("{low:g} or more", low=0.0)),
        "A2": Range("inverse length", 0.0, 1e15, msg("{low:g} or more", low=0.0)),
        "conductivity": Range("conductivity", 1e-4, 1e15, msg("{low:g} or more", low=1e-4)),
    },
    "tray.heat": {
        "contact": Range("heat transfer", 0.01, 1e4, msg("{low:g} to 10000 W/m^2/K", low=0.01)),
        "above": Range("heat transfer", 0.0, 1e4, msg("{low:g} to 10000 W/m^2/K", low=0.0)),
        "frozen_conductivity": Range("conductivity", 0.05, 5, msg("0.05 to 5 W/m/K")),
        "bulk_density": Range("density", 20, 3000, msg("20 to 3000 kg/m^3")),
        "ice_mass": Range("mass", 1e-6, 1000, _MUCH_ICE),
    },
    "tray.areas": {
        "outer": Range("area", 1e-6, 1000, msg("above 0 to {most}", most=quantity(1000, "area", 0))),
        "contact": Range("area", 0, 1000, between(0, 1000, "area", 0)),
        "above": Range("area", 0, 1000, between(0, 1000, "area", 0)),
    },
    "program": {
        "shelf": Range("temperature", C0 - 80, C0 + 150),
        "freeze_to": Range("temperature", C0 - 80, C0 - 5),
    },
    "held": {
        "chamber_pressure": Range("pressure", 0.1, 600),
        "shelf_temperature": Range("temperature", C0 - 80, C0 + 150),
        "upper_temperature": Range("temperature", C0 - 80, C0 + 150),
        "surroundings": Range("temperature", C0 - 80, C0 + 150),
        "air_pressure": Range("pressure", 0, 600),
    },
    "dryer": {
        "trays": Range("", 1, 100, msg("a whole number of trays")),
        "tray_area": Range("area", 1e-3, 10),
        "rim_height": Range("length", 1e-3, 0.3),
        "heater_power": Range("power", 1, 1e5),
        "shelf_heat_capacity": Range("heat capacity", 10, 1e7),
        "shelf_highest": Range("temperature", C0 - 20, C0 + 150),
        "control_time": Range("time", 1, 7200),
        "pressure_limit": Range("pressure", 0, 1e5),
        "contact_constant": Range("heat transfer", 0.01, 1000),
        "contact_gas": Range("", 0, 100, msg("W/(m2 K Pa)")),
        "contact_saturation": Range("", 0, 100, "1/Pa"),
        "above": Range("heat transfer", 0, 1000),
        "trap_capacity": Range("mass", 1e-2, 1e4),
        "trap_area": Range("area", 1e-3, 1e3),
        "trap_ice_conductivity": Range("conductivity", 0.05, 2.5),
        "vapour_conductance": Range("vapor conductance", 1e-9, 1),
        "choked_area": Range("area", 1e-6, 10),
        "refrigeration": Range("power", 10, 1e6),
        "refrigeration_reference": Range("temperature", C0 - 100, C0),
        "refrigeration_slope": Range("", 1e-6, 1, "1/K"),
        "trap_floor": Range("temperature", C0 - 110, C0 - 10),
        "room": Range("temperature", C0 - 10, C0 + 50),
        "room_conductance": Range("heat conductance", 0, 1000),
        "wall_conductance": Range("heat conductance", 0, 1000),
        "compressor_power": Range("power", 0, 1e6),
        "compressor_slope": Range("", -0.5, 1, "1/K"),
        "pump_power": Range("power", 0, 1e5),
        "pump_speed": Range("pumping speed", 1e-6, 10),
        "leak": Range("leak", 0, 100),
        "ultimate_pressure": Range("pressure", 0, 100),
        "chamber_volume": Range("volume", 1e-4, 100),
        "freezer_temperature": Range("temperature", C0 - 100, C0),
        "freezer_air": Range("heat transfer", 0.5, 1000),
        "freezer_base": Range("heat transfer", 0, 1000),
        "freezer_power": Range("power", 1, 1e6),
    },
    "composition": {
        name: Range("fraction", 0.0, 1.0, msg("0 to 100%"))
        for name in (
            "water", "protein", "fat", "carbohydrate", "fibre", "ash", "alcohol", "sugars", "sugars_sd", "salt",
            "water_sd",
        )
    },
    "basket": {"time": Range("time", HOUR, LONGEST, msg("the time you have, from 1 h to 20 days, such as '30 h'"))},
    "basket.food": {
        "mass": Range("mass", 0.01, 500, msg("a weight from 10 g to 500 kg, such as '6 lb'")),
        "size": CUT,
        "thinnest": CUT,
        "thickest": CUT,
        "value": Range("money", 0.0, 1e6),
    },
    "plan": {
        "days": Range("", 1, 35),
        "step": Range("time", 900.0, 6 * HOUR, msg("15 min to 6 h")),
        "altitude": ALTITUDE,
    },
    "plan.dryer": {"turnaround": Range("time", 0.0, 7 * DAY, msg("0 h to 7 days"))},
    "freezer.volume": {"space": Range("volume", 0.0, 10.0, SPACE)},
    "freezer.mass": {"space": Range("mass", 0.0, 5000.0, SPACE)},
    "tariff": {"price": Range("money", 0.0, 100.0)},
    "arrival": {
        "mass": Range("mass", 0.05, 2000.0, msg("50 g to 2000 kg")),
        "tray_mass": Range("mass", 0.02, 100.0, msg("20 g to 100 kg")),
        "value": Range("money", 0.0, 1e5),
        "fridge": Range("time", 0.0, 365 * DAY, msg("0 h to 365 days")),
        "freezer": Range("time", 0.0, 1000 * DAY, msg("0 h to 1000 days")),
        "drying_time": Range("time", HOUR, LONGEST, msg("1 h to 20 days")),
        "volume": Range("", 0.5e-3, 20e-3),
    },
    "fixed": {"mass": Range("mass", 1e-3, 2000.0, msg("1 g to 2000 kg"))},
    "garden": {
        "weeks": Range("", 1, 40),
        "seed": Range("", 0, 2**31),
        "rounds": Range("", 1, 200),
        "early_or_late": Range("time", 0.0, 30 * DAY, msg("0 to 30 days")),
    },
    "crop": {
        "mass": Range("mass", 0.5, 5000.0, msg("500 g to 5000 kg")),
        "uncertain": Range("fraction", 0.0, 1.0),
        "per_week": Range("", 0.25, 7.0),
    },
    "choice": {"price": Range("money", 0.0, 1e6), "years": Range("", 1.0, 50.0)},
    "pack": {
        "residual_moisture": Range("fraction", 0.0, 0.30, msg("0 to 30%")),
        "dry_mass": DRY,
        "size": Range("length", 1e-4, 0.1, msg("0.1 to 100 mm")),
        "bulk_density": Range("density", 10.0, 1500.0, msg("10 to 1500 kg/m^3")),
        "altitude": ALTITUDE,
        "temperature": Range("temperature", 263.15, 318.15, msg("-10 to 45 degC")),
        "air_left": Range("fraction", 0.001, 1.0, msg("0.1 to 100%")),
        "margin": Range("fraction", 0.0, 4.0, msg("0 to 400%")),
        "keep_for": Range("time", DAY, 50 * YEAR, msg("1 day to 50 years")),
        "count": Range("", 1, 100000),
    },
    "fresh": {"fresh_mass": Range("mass", 1e-4, 50000.0, msg("0.1 g to 50000 kg"))},
    "container": {
        "count": Range("", 1, 100000),
        "dry_mass": DRY,
        "volume": Range("volume", 1e-5, 1.0, msg("10 mL to 1000 L")),
        "area": Range("area", 1e-3, 20.0, msg("0.001 to 20 m^2")),
        "oxygen_per_day": Range("volume", 0.0, 1e-2, msg("0 to 10 L (a day)")),
        "vapour": Range("water vapor transmission", 0.0, 1e-5, msg("0 to 860 g/m^2/day")),
    },
    "storage": {
        "duration": Range("time", DAY, 2 * YEAR, msg("1 day to 2 years")),
        "temperature": Range("temperature", 233.15, 333.15, msg("-40 to 60 degC")),
        "humidity": Range("fraction", 0.0, 1.0, msg("0 to 100%")),
    },
    "weighing": {
        "gross": Range("mass", 1e-3, 100.0, msg("the tray with its food, such as '1.12 kg'")),
        "tare": Range("mass", 0.0, 100.0, msg("0 to 100 kg")),
        "resolution": Range("mass", 1e-6, 0.1, msg("0.001 to 100 g")),
        "outside": Range("time", 0.0, 2 * HOUR, msg("0 to 2 h")),
    },
    "oven_sample": {
        "before": Range("mass", 1e-5, 10.0, msg("the sample as taken, such as '5.03 g'")),
        "after": Range("mass", 1e-6, 10.0, msg("the sample out of the oven, such as '4.91 g'")),
        "resolution": Range("mass", 1e-7, 0.1, msg("0.0001 to 100 g")),
    },
    "activity": {
        "activity": Range("fraction", 0.0, 1.0, msg("0 to 1, such as 0.18")),
        "error": Range("fraction", 0.001, 0.3, msg("0.001 to 0.3")),
    },
    "probe": {
        "product": Range("temperature", C0 - 80.0, C0 + 150.0, msg("-80 to 150 degC")),
        "shelf": Range("temperature", C0 - 80.0, C0 + 150.0, msg("-80 to 150 degC")),
    },
    "pressure_rise": {
        "duration": Range("time", 1.0, HOUR, msg("1 s to 1 h")),
        "before": Range("pressure", 0.0, 2000.0, msg("0 to 2000 Pa")),
        "after": Range("pressure", 0.0, 2000.0, msg("0 to 2000 Pa")),
    },
    "pressure": {"pressure": Range("pressure", 0.0, 2e5, msg("0 to 2 bar"))},
    "power": {"power": Range("power", 0.0, 1e5, msg("0 to 100 kW"))},
}  # fmt: skip


def check(spec: object, ranges: Ranges, prefix: str, problems: list[InputError]) -> None:
    """Add a problem for every value of a spec that is not allowed; values that are not there are.

    spec: whose attributes are named as in files
    ranges: what is allowed, one of `RANGES`
    prefix: name of the spec in a file, empty for the file itself
    problems: list to which every problem is added
    """
    for name, allowed in ranges.items():
        value = getattr(spec, name)
        if value is not None and not allowed.holds(value):
            field = f"{prefix}.{name}" if prefix else name
            problems.append(allowed.problem(field, in_file(value, allowed.kind)))


def in_notation(spec: object, ranges: Ranges) -> dict[str, str]:
    """Return the values of a spec as a file writes them; those that are not there are left out.

    spec: whose attributes are named as in files
    ranges: of its values, one of `RANGES`
    """
    values = {name: (getattr(spec, name), allowed.kind) for name, allowed in ranges.items()}
    return {name: in_file(value, kind) for name, (value, kind) in values.items() if value is not None}
