"""How slowly germs die in dry food: storage does not make food safe."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from drystow.constants import ZERO_CELSIUS
from drystow.errors import CELSIUS_HINT, check_range
from drystow.messages import msg
from drystow.packing.seasons import DAY
from drystow.shown import quantity

NO_KILL_STEP = msg(
    "Freeze-drying does not kill germs, and storage does not make food safe. What was unsafe "
    "going in is unsafe coming out. Handle raw food and its crumbs as raw."
)
"""Said wherever raw food is stored. Source: fd-no-kill, farakos2013, hav-strawberry2021."""


@dataclass(frozen=True)
class Survival:
    """What storage does to a germ.

    log_reduction: powers of ten by which the number falls [-]
    notes: sentences on ranges and assumptions
    """

    log_reduction: float
    notes: tuple[str, ...]


@cache
def _salmonella_table() -> tuple[tuple[float, list[float], list[float]], ...]:
    rows = tomllib.loads(files("drystow.keeping").joinpath("survival.toml").read_text(encoding="utf-8"))["salmonella"]
    return tuple((row["temperature"] + ZERO_CELSIUS, row["water_activity"], row["per_day"]) for row in rows)


def salmonella_reduction(water_activity: float, temperature: float, time: float) -> Survival:
    """Return how far Salmonella in dry powder dies off in storage, log10.

    water_activity: of the food [-]
    temperature: of the store [K]
    time: in the store [s]
    Valid: water activity 0.17 to 0.58, 36 to 50 °C; in a cooler store the result is an upper bound.
    Source: farakos2013; log of the rate straight in water activity and in temperature.
    """
    check_range("water_activity", water_activity, 0, 0.8, "", hint=msg("this is about dry food"))
    check_range("temperature", temperature, 233, 333, "K", hint=CELSIUS_HINT)
    check_range("time", time, 0, 1e10, "s")
    notes = []
    (cool, *_), (warm, *_) = _salmonella_table()
    if temperature < cool:
        notes.append(
            msg(
                "Measured at {cool} and above only; in a cooler place Salmonella lives longer than this.",
                cool=quantity(cool, "temperature"),
            )
        )
    if temperature > warm:
        notes.append(msg("Measured up to {warm} only.", warm=quantity(warm, "temperature")))
    if not 0.17 <= water_activity <= 0.58:
        notes.append(
            msg(
                "Measured at water activities of 0.17 to 0.58; {activity:.2f} is treated as the nearest "
                "of them. Germs live longest in the driest food.",
                activity=water_activity,
            )
        )
    low, high = (
        float(np.interp(water_activity, activities, np.log(rates))) for _, activities, rates in _salmonella_table()
    )
    rate = float(np.exp(np.interp(temperature, [cool, warm], [low, high])))
    return Survival(rate * time / DAY, tuple(notes))


def hepatitis_a_reduction(time: float) -> Survival:
    """Return how far hepatitis A virus on freeze-dried strawberry dies off at 22 °C, log10.

    time: in the store [s]
    Valid: up to two months.
    Source: hav-strawberry2021; Y = 0.2882 d^0.4503.
    """
    check_range("time", time, 0, 1e10, "s")
    notes = (msg("Measured for up to two months only."),) if time > 62 * DAY else ()
    return Survival(0.2882 * (time / DAY) ** 0.4503, notes)
