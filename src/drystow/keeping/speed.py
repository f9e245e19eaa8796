"""How fast quality goes, by temperature: one law for every reaction, and the life it leaves in a store."""

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
    reference_life: float,
    reference: float,
    activation_energy: float,
    seasons: tuple[StoreSeason, ...],
    slowed: float = 1.0,
    until: float = inf,
) -> float:
    """Life at the temperatures of a store, from the life at one temperature; infinite beyond 100 years [s].

    reference_life: life at the reference temperature [s]
    reference: temperature of that life [K]
    activation_energy: of what ends the life [J/mol]
    seasons: of the store, repeated from the day of packing
    slowed: share of the speed while something holds the reaction back, such as an absorber the oxygen [-]
    until: how long it does [s]
    Valid: shares of the life used up add, whatever their order.
    Source: arrhenius.
    """
    check_range("reference_life", reference_life, 0, 1e12, "s")
    check_range("slowed", slowed, 0, 1, "")
    if not reference_life:
        return 0.0
    used = 0.0
    for start, season in course(seasons, 100 * YEAR):
        rate = speed_ratio(activation_energy, season.temperature, reference) / reference_life
        held = min(max(until - start, 0.0), season.duration)
        for since, lasts, pace in ((start, held, slowed * rate), (start + held, season.duration - held, rate)):
            if lasts > 0 and used + pace * lasts >= 1:
                return since + (1 - used) / pace
            used += pace * lasts
    return inf


def lives(
    references: tuple[float, ...],
    reference: float,
    energies: tuple[float, ...],
    seasons: tuple[StoreSeason, ...],
    slowed: tuple[float, ...] = (1.0, 1.0, 1.0),
    until: tuple[float, ...] = (inf, inf, inf),
) -> tuple[float, float, float]:
    """Return the pessimistic life in a store, the best estimate and the optimistic one [s].

    references: the three lives at the reference temperature
    reference: temperature of those lives [K]
    energies: lowest, middle and highest activation energy; whichever is worse or better in this store counts
    seasons: of the store, repeated from the day of packing
    slowed: share of the speed while something holds the reaction back, for each of the three
    until: how long it does, for each of the three [s]
    """
    low, central, high = (
        [life_in_store(life, reference, energy, seasons, pace, end) for energy in energies]
        for life, pace, end in zip(references, slowed, until, strict=True)
    )
    return min(low), central[1], max(high)
