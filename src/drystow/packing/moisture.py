"""Water that creeps in: through the package while it is stored, from room air while it is packed."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, log

from drystow.constants import GAS_CONSTANT, VAPOUR_GAS_CONSTANT
from drystow.errors import CELSIUS_HINT, check_range
from drystow.messages import msg
from drystow.packing.seasons import DAY, YEAR, StoreSeason, course
from drystow.properties.water import water_vapour_pressure_liquid

TEST_TEMPERATURE = 311.15
"""Of the usual test of water vapor transmission, 38 °C [K]. Source: packaging-trade."""

TEST_HUMIDITY = 0.90
"""Of the usual test of water vapor transmission [-]. Source: packaging-trade."""

STILL_AIR_TRANSFER = 5.0
"""Heat transfer from still room air to food [W/(m2 K)]. Source: drystow-default."""

AIR_HEAT_CAPACITY = 1.2 * 1006.0
"""Of room air by volume [J/(m3 K)]. Source: lewis-relation."""

WVTR_HINT = msg("1 g/(m2 day) is 1.157e-8 kg/(m2 s)")


@dataclass(frozen=True)
class MoistureTime:
    """When a moisture is reached.

    time: since packing, infinite when it is never reached [s]
    moisture: dry basis, at that time, or at the end of the look-ahead when it is never reached [-]
    """

    time: float
    moisture: float


def permeance(wvtr: float, temperature: float, activation_energy: float = 0.0) -> float:
    """Water vapour permeance of a wall from its transmission at 38 °C and 90% RH [kg/(m2 s Pa)].

    wvtr: water vapor transmission at 38 °C and 90% RH [kg/(m2 s)]
    temperature: of the store [K]
    activation_energy: of the permeance; 0 leaves it as at 38 °C, which is on the safe side in a cooler store [J/mol]
    Valid: 233 to 333 K.
    Source: labuza-moisture; transmission over the vapour pressure difference of the test.

    >>> print(f"{permeance(1e-6, 296.15):.3e}")
    1.675e-10
    """
    check_range("wvtr", wvtr, 0, 1e-5, "kg/(m2 s)", hint=WVTR_HINT)
    check_range("temperature", temperature, 233, 333, "K", hint=CELSIUS_HINT)
    driving = TEST_HUMIDITY * water_vapour_pressure_liquid(TEST_TEMPERATURE)
    shift = exp(-activation_energy / GAS_CONSTANT * (1 / temperature - 1 / TEST_TEMPERATURE))
    return float(wvtr / driving * shift)


def days_to_moisture(
    wvtr: float,
    area: float,
    dry_solids: float,
    initial: float,
    critical: float,
    equilibrium: float,
    isotherm_slope: float,
    temperature: float,
) -> float:
    """Time until packed food reaches a critical moisture, for a straight isotherm [days].

    wvtr: water vapor transmission of the wall, measured at 38 °C and 90% RH [kg/(m2 s)]
    area: of the wall [m2]
    dry_solids: food without its water, in the package [kg]
    initial: moisture when packed, dry basis [-]
    critical: moisture that must not be passed, dry basis [-]
    equilibrium: moisture the food would reach in the store's air, dry basis [-]
    isotherm_slope: moisture (dry basis) per unit of water activity [-]
    temperature: of the store [K]
    Valid: isotherm nearly straight from initial to equilibrium; infinite when equilibrium is not above critical.
    Source: labuza-moisture, closed form; permeance as at 38 °C, on the safe side.

    >>> print(f"{days_to_moisture(40e-3 / 86400, 0.12, 0.1, 0.02, 0.06, 0.10, 0.20, 296.15):.0f}")
    6
    """
    check_range("area", area, 0, 100, "m2", above=True)
    check_range("dry_solids", dry_solids, 0, 1e4, "kg", above=True)
    check_range("isotherm_slope", isotherm_slope, 0, 10, "", above=True)
    for name, value in (("initial", initial), ("critical", critical), ("equilibrium", equilibrium)):
        check_range(name, value, 0, 5, "", hint=msg("kg of water per kg of dry solids"))
    if critical <= initial:
        return 0.0
    rate = permeance(wvtr, temperature) * area / dry_solids * water_vapour_pressure_liquid(temperature) / isotherm_slope
    if equilibrium <= critical or rate == 0:
        return inf
    return float(log((equilibrium - initial) / (equilibrium - critical)) / rate / DAY)


def time_to_moisture(
    wvtr: float,
    area: float,
    dry_solids: float,
    initial: float,
    critical: float,
    water_activity: Callable[[float], float],
    seasons: tuple[StoreSeason, ...],
    activation_energy: float = 0.0,
    horizon: float = 30 * YEAR,
) -> MoistureTime:
    """Return when packed food reaches a critical moisture, for any isotherm and any store.

    wvtr: water vapor transmission of the wall, measured at 38 °C and 90% RH [kg/(m2 s)]
    area: of the wall [m2]
    dry_solids: food without its water, in the package [kg]
    initial: moisture when packed, dry basis [-]
    critical: moisture that must not be passed, dry basis [-]
    water_activity: gives the water activity at a moisture (dry basis)
    seasons: of the store, repeated
    activation_energy: of the permeance [J/mol]
    horizon: how far to look ahead [s]
    Valid: moisture even through the package; the isotherm is taken at one temperature.
    Source: labuza-moisture; fourth-order Runge-Kutta, at most a 200th of the way, an 8th of a season
    and the time constant of the package per step.
    """
    check_range("area", area, 0, 100, "m2", above=True)
    check_range("dry_solids", dry_solids, 0, 1e4, "kg", above=True)
    if critical <= initial:
        return MoistureTime(0.0, initial)
    moisture, step_limit = initial, (critical - initial) / 200
    conductance = {
        season: permeance(wvtr, season.temperature, activation_energy)
        * area
        / dry_solids
        * float(water_vapour_pressure_liquid(season.temperature))
        for season in seasons
    }
    if not any(conductance.values()):
        return MoistureTime(inf, initial)
    for start, season in course(seasons, horizon):
        speed = conductance[season]

        def rate(value: float, speed: float = speed, outside: float = season.humidity) -> float:
            return speed * (outside - water_activity(max(value, 0.0)))

        time = start
        end = start + season.duration
        while time < end:
            slope = rate(moisture)
            stiffness = abs(rate(moisture + step_limit) - slope) / step_limit
            step = min(end - time, season.duration / 8, _over(step_limit, abs(slope)), _over(1.0, stiffness))
            change = _runge_kutta(rate, moisture, slope, step)
            if moisture + change >= critical:
                return MoistureTime(time + step * (critical - moisture) / change, critical)
            moisture, time = moisture + change, time + step
    return MoistureTime(inf, moisture)


def _over(value: float, rate: float) -> float:
    return value / rate if rate > 0 else inf


def _runge_kutta(rate: Callable[[float], float], value: float, first: float, step: float) -> float:
    second = rate(value + step / 2 * first)
    third = rate(value + step / 2 * second)
    fourth = rate(value + step * third)
    return step / 6 * (first + 2 * second + 2 * third + fourth)


def open_time_limit(
    area: float,
    dry_solids: float,
    gain: float,
    food_activity: float,
    room_temperature: float,
    room_humidity: float,
    transfer: float = STILL_AIR_TRANSFER,
) -> float:
    """Time dried food may lie open before it takes up a given moisture from the room, an estimate [s].

    area: surface open to the room, at most twice the tray area of a thin layer [m2]
    dry_solids: food without its water [kg]
    gain: allowed rise of the moisture, dry basis [-]
    food_activity: water activity of the dried food [-]
    room_temperature: of the air [K]
    room_humidity: relative humidity of the air [-]
    transfer: heat transfer from the air to the food [W/(m2 K)]
    Valid: estimate within a factor of two or three; only the air side resists; infinite in drier air than the food.
    Source: lewis-relation; still air 5 W/(m2 K) is an engineering default.

    >>> print(f"{open_time_limit(0.15, 0.2, 0.01, 0.1, 294.15, 0.5) / 60:.0f} min")
    7 min
    """
    check_range("area", area, 0, 100, "m2", above=True)
    check_range("dry_solids", dry_solids, 0, 1e4, "kg", above=True)
    check_range("gain", gain, 0, 1, "", above=True)
    check_range("food_activity", food_activity, 0, 1, "")
    check_range("room_temperature", room_temperature, 253, 323, "K", hint=CELSIUS_HINT)
    check_range("room_humidity", room_humidity, 0, 1, "")
    check_range("transfer", transfer, 0, 1000, "W/(m2 K)", above=True)
    if room_humidity <= food_activity:
        return inf
    pressure = float(water_vapour_pressure_liquid(room_temperature)) * (room_humidity - food_activity)
    flux = transfer / AIR_HEAT_CAPACITY * pressure / (VAPOUR_GAS_CONSTANT * room_temperature)
    return gain * dry_solids / (area * flux)
