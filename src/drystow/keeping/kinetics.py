"""How fast quality goes, by temperature."""

from math import exp, inf, log

from drystow.constants import GAS_CONSTANT
from drystow.errors import CELSIUS_HINT, check_range
from drystow.messages import msg
from drystow.packing.seasons import YEAR, StoreSeason, course

KILOJOULE_HINT = msg("1 kJ/mol is 1000 J/mol")


def speed_ratio(activation_energy: float, temperature: float, reference: float) -> float:
    """How many times faster a reaction runs than at a reference temperature [-].

    activation_energy: of the reaction [J/mol]
    temperature: at which it runs [K]
    reference: temperature of the known rate [K]
    Valid: no change of mechanism between the two, such as a glass transition.
    Source: arrhenius.

    >>> print(f"{speed_ratio(100e3, 298.15, 288.15):.2f}")
    4.05
    """
    check_range("activation_energy", activation_energy, 0, 1e6, "J/mol", hint=KILOJOULE_HINT)
    check_range("temperature", temperature, 200, 400, "K", hint=CELSIUS_HINT)
    check_range("reference", reference, 200, 400, "K", hint=CELSIUS_HINT)
    return exp(activation_energy / GAS_CONSTANT * (1 / reference - 1 / temperature))


def activation_energy(q10: float, temperature: float) -> float:
    """Activation energy that makes a reaction q10 times faster over the next 10 K [J/mol].

    q10: ratio of the speeds [-]
    temperature: the lower of the two [K]
    Valid: q10 from 1.
    Source: arrhenius.

    >>> print(f"{activation_energy(2.0, 294.15) / 1000:.1f}")
    51.6
    """
    check_range("q10", q10, 1, 20, "")
    check_range("temperature", temperature, 200, 400, "K", hint=CELSIUS_HINT)
    return log(q10) * GAS_CONSTANT * temperature * (temperature + 10) / 10


def life_in_store(
    reference_life: float, reference: float, activation_energy: float, seasons: tuple[StoreSeason, ...]
) -> float:
    """Life at the temperatures of a store, from the life at one temperature; infinite beyond 100 years [s].

    reference_life: life at the reference temperature [s]
    reference: temperature of that life [K]
    activation_energy: of what ends the life [J/mol]
    seasons: of the store, repeated from the day of packing
    Valid: shares of the life used up add, whatever their order.
    Source: arrhenius.
    """
    check_range("reference_life", reference_life, 0, 1e12, "s")
    used = 0.0
    for start, season in course(seasons, 100 * YEAR):
        rate = speed_ratio(activation_energy, season.temperature, reference) / reference_life if reference_life else inf
        if used + rate * season.duration >= 1:
            return start + (1 - used) / rate
        used += rate * season.duration
    return inf
