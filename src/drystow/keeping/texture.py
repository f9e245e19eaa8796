"""When dried food goes soft or clumps: water comes through the package to the glass point or past the crunch."""

from collections.abc import Callable

import numpy as np

from drystow.errors import InputError
from drystow.keeping.limits import CALCULATED, CRISPNESS, Limit, quality_table
from drystow.messages import msg
from drystow.packing.moisture import time_to_moisture
from drystow.packing.plan import PackPlan
from drystow.packing.seasons import mean_temperature
from drystow.properties.glass import glass_temperature
from drystow.properties.sorption import gab_moisture, water_activity_at
from drystow.shown import quantity

ISOTHERM_POINTS = 600
"""Points of the isotherm that the way of the moisture is read from. Source: drystow-default."""

HALVINGS = 30
"""Halvings of the moisture at which a food softens. Source: drystow-default."""

WETTEST = 0.30
"""Moisture beyond which nobody calls it dried, wet basis [-]. Source: drystow-default."""


def crispness(plan: PackPlan) -> Limit:
    """Return when water that comes through the package has taken the crispness, or makes powder clump.

    Whichever comes first: the water activity at which snacks lose their crunch, or the moisture at which the glass
    point of the food has come down to its store. Food that is softer than that from the first day is told so
    (`stickiness`), and only its crunch counts here, since glass points are known to 10 to 15 K.

    plan: of the package
    """
    row = quality_table()["crispness"]
    wall, spread = plan.container.material, plan.container.material.spread
    isotherm, glass = plan.isotherm, softening_moistures(plan)
    crunch = [float(gab_moisture(activity, isotherm.monolayer, isotherm.c, isotherm.k)) for activity in row["activity"]]
    critical = [min(one, soft) for one, soft in zip(crunch, glass or crunch, strict=True)]
    times = [
        _moisture_time(plan, moisture, wall.vapour * factor)
        for moisture, factor in zip(critical, (spread, 1.0, 1 / spread), strict=True)
    ]
    if critical[0] < crunch[0]:
        warmest = max(season.temperature for season in plan.pack.seasons)
        basis = msg(
            "Water comes through the wall until {moisture:.1%} moisture, where the dry glass of its sugars softens at "
            "{store}.",
            moisture=critical[0] / (1 + critical[0]),
            store=quantity(warmest, "temperature"),
        )
    else:
        basis = msg(
            "Water comes through the wall until the food's water activity goes from {packed:.2f} to "
            "{low:.2f} to {high:.2f}, where it starts to lose its crunch.",
            packed=plan.water_activity,
            low=row["activity"][0],
            high=row["activity"][-1],
        )
    return Limit(CRISPNESS, times[0], times[1], times[2], basis, CALCULATED, row["source"], row["mark"])


def softening_moistures(plan: PackPlan) -> tuple[float, ...]:
    """Return the moistures at which the glass point is at the warmest store and below it, none when it is so already.

    plan: of the package
    """
    food = plan.pack.food
    warmest = max(season.temperature for season in plan.pack.seasons)

    def glass(water: float) -> float:
        return float(glass_temperature(food.composition, food.food_class, water, food.like))

    try:
        if glass(plan.pack.residual_moisture) <= warmest:
            return ()
        waters = [_where(glass, warmest - below) for below in quality_table()["crispness"]["glass"]["below"]]
    except InputError:  # neither carbohydrate nor protein: nothing that could soften
        return ()
    return tuple(water / (1 - water) for water in waters)


def _where(glass: Callable[[float], float], temperature: float) -> float:
    low, high = 0.0, WETTEST
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if glass(middle) > temperature else (low, middle)
    return low


def _moisture_time(plan: PackPlan, critical: float, wvtr: float) -> float:
    isotherm = plan.isotherm
    temperature = mean_temperature(plan.pack.seasons)
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
