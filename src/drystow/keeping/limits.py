"""Everything that can end the keeping of a package, one function each, and how fast quality goes, by temperature."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import exp, inf, log
from typing import Any

import numpy as np

from drystow.constants import GAS_CONSTANT, ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, check_range
from drystow.foods.kinds import class_row, is_a, of_relatives
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.packing.moisture import time_to_moisture
from drystow.packing.plan import PackPlan
from drystow.packing.seasons import DAY, YEAR, StoreSeason, course, mean_temperature
from drystow.properties.sorption import gab_moisture, water_activity_at
from drystow.shown import between, quantity

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


NO_STUDY = msg("planning estimate, not from a storage study")
CARRIED_OVER = msg("planning estimate, based on a 24-month storage study of potato, apple and carrot")
STUDY = msg("24-month storage study of potato, apple and carrot with absorbers; estimated beyond that")
CALCULATED = msg("calculated from the package's figures, not from a storage study")

COOKS_WORDS: dict[str, str] = {
    NO_STUDY: msg("estimate"),
    CARRIED_OVER: msg("estimate"),
    STUDY: msg("from a storage study"),
    CALCULATED: msg("calculated"),
}
"""What a label or a sheet says in place of a class of evidence. Source: definition."""

COLOR, CRISPNESS = msg("color"), msg("crispness")
"""Names of the limits that have a note of their own."""

LONGEST_WORD = 40

LEAK_SPREAD = 3.0
"""Factor within which the leak of a closure lies [-]. Source: packaging-recall."""

ISOTHERM_POINTS = 600
"""Points of the isotherm that the way of the moisture is read from. Source: drystow-default."""


@dataclass(frozen=True)
class Limit:
    """One thing that ends the keeping.

    name: color, eating quality, crispness or oxygen
    low: pessimistic time [s]
    central: best estimate [s]
    high: optimistic time [s]
    basis: one sentence on where the times come from
    evidence: class of the evidence
    source: key in sources.toml
    mark: how the figures got here
    """

    name: str
    low: float
    central: float
    high: float
    basis: str
    evidence: str
    source: str
    mark: str


def evidence_word(evidence: str) -> str:
    """Return a class of evidence in a cook's word; what no class is called, such as a note by hand, cut short.

    evidence: class of the evidence, or a note

    >>> evidence_word(NO_STUDY), evidence_word("as written on the package")
    ('estimate', 'as written on the package')
    """
    if evidence in COOKS_WORDS:
        return COOKS_WORDS[evidence]
    return evidence if len(evidence) <= LONGEST_WORD else f"{evidence[: LONGEST_WORD - 1].rstrip()}…"


@cache
def quality_table() -> dict[str, Any]:
    """Return the table of what ends the good eating of stored food."""
    return tomllib.loads(files("drystow.keeping").joinpath("quality.toml").read_text(encoding="utf-8"))


def colour(plan: PackPlan) -> Limit | None:
    """Return when darkening shows, None for foods in which it is not what ends the life.

    plan: of the package
    """
    row = quality_table()["browning"]
    food = plan.pack.food
    if not is_a(food.food_class, "browns"):
        return None
    low, central, high = sorted(
        life_in_store(days * DAY, row["temperature"] + ZERO_CELSIUS, energy, plan.pack.seasons)
        for days, energy in zip(row["days"], row["energy"], strict=True)
    )
    studied = bool(of_relatives("studied", food.food_class, food.like))
    basis = msg(
        "Browning goes on without oxygen: visible within 6 months at {warm}, color kept for 24 "
        "months at {span}. Other temperatures by an activation energy of 158 to 210 kJ/mol.",
        warm=quantity(ZERO_CELSIUS + 29.5, "temperature"),
        span=between(ZERO_CELSIUS + 10.0, ZERO_CELSIUS + 21.0, "temperature"),
    )
    evidence = STUDY if studied else CARRIED_OVER
    mark = row["mark"] if studied else "class default"
    return Limit(COLOR, low, central, high, basis, evidence, row["source"], mark)


def eating_quality(plan: PackPlan) -> Limit:
    """Return when flavour and texture have suffered, mostly from oxygen and fat.

    plan: of the package
    """
    row = quality_table()["eating"]
    low, high = _years(plan.pack.food)
    share = 1.0 if plan.absorber_time > 0 else row["air_share"]
    lives = [
        share * life_in_store(years * YEAR, row["temperature"] + ZERO_CELSIUS, energy, plan.pack.seasons)
        for years, energy in zip((low, (low * high) ** 0.5, high), row["energy"], strict=True)
    ]
    store = {
        "store": quantity(row["temperature"] + ZERO_CELSIUS, "temperature"),
        "step": quantity(10.0, "temperature difference", 0),
    }
    if plan.absorber_time == 0:
        basis = msg(
            "This kind of food keeps {low:g} to {high:g} years at {store} without oxygen, and half "
            "as long for every {step} more. With oxygen left in, we assume {share:.0%} of that.",
            low=low,
            high=high,
            share=row["air_share"],
            **store,
        )
    else:
        basis = msg(
            "This kind of food keeps {low:g} to {high:g} years at {store} without oxygen, and half "
            "as long for every {step} more.",
            low=low,
            high=high,
            **store,
        )
    name = msg("eating quality")
    return Limit(name, lives[0], lives[1], lives[2], basis, NO_STUDY, row["source"], row["mark"])


def _years(food: Food) -> tuple[float, float]:
    solids = food.composition.solids
    fatty = solids > 0 and food.composition.fat / solids > quality_table()["eating"]["fatty"]
    usual = class_row(food.food_class)["eating"]
    of_its_kind = of_relatives("eating", food.food_class, food.like)
    low, high = (of_its_kind or {"years": usual.get("fatty", usual["years"]) if fatty else usual["years"]})["years"]
    return float(low), float(high)


def crispness(plan: PackPlan) -> Limit:
    """Return when water that comes through the package has taken the crispness.

    plan: of the package
    """
    row = quality_table()["crispness"]
    wall, spread = plan.container.material, plan.container.material.spread
    times = [
        _moisture_time(plan, activity, wall.vapour * factor)
        for activity, factor in zip(row["activity"], (spread, 1.0, 1 / spread), strict=True)
    ]
    low, _, high = row["activity"]
    basis = msg(
        "Water comes through the wall until the food's water activity goes from {packed:.2f} to "
        "{low:.2f} to {high:.2f}, where it starts to lose its crunch.",
        packed=plan.water_activity,
        low=low,
        high=high,
    )
    return Limit(CRISPNESS, times[0], times[1], times[2], basis, CALCULATED, row["source"], row["mark"])


def _moisture_time(plan: PackPlan, activity: float, wvtr: float) -> float:
    isotherm = plan.isotherm
    temperature = mean_temperature(plan.pack.seasons)
    critical = float(gab_moisture(activity, isotherm.monolayer, isotherm.c, isotherm.k))
    levels = np.linspace(0.0, 1.2 * max(critical, plan.moisture), ISOTHERM_POINTS)
    activities = np.asarray(water_activity_at(isotherm, levels, temperature))
    return time_to_moisture(
        wvtr,
        plan.container.area,
        plan.filling.mass_each * (1 - plan.pack.residual_moisture),
        plan.moisture,
        critical,
        _on_even_steps(activities.tolist(), float(levels[-1])),
        plan.pack.seasons,
    ).time


def _on_even_steps(values: list[float], top: float) -> Callable[[float], float]:
    """Return a table as a function, linear between its rows: a tenth of the time of NumPy for one number.

    values: at even steps from 0 to `top`
    """
    last, steps = len(values) - 1, (len(values) - 1) / top

    def at(place: float) -> float:
        cell = min(int(place * steps), last - 1)
        share = min(place * steps - cell, 1.0)
        return values[cell] + share * (values[cell + 1] - values[cell])

    return at


def oxygen(plan: PackPlan) -> Limit | None:
    """Return when the absorber is used up by oxygen that comes in, None without an absorber or way in.

    plan: of the package
    """
    if plan.absorber_time in (0.0, inf):
        return None
    spread = max(plan.container.material.spread, LEAK_SPREAD if plan.container.leak > 0 else 1.0)
    central = plan.absorber_time
    basis = msg(
        "{absorbers} for {oxygen} at sealing; {yearly} a year comes in, within a factor of {spread:g}.",
        absorbers=plan.absorbers.text,
        oxygen=quantity(plan.oxygen_ml / 1e6, "gas"),
        yearly=quantity(plan.ingress * YEAR, "gas", 1),
        spread=spread,
    )
    source, mark = plan.container.source, plan.container.mark
    return Limit(msg("oxygen"), central / spread, central, central * spread, basis, CALCULATED, source, mark)
