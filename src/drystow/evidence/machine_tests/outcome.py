"""What every test of a machine gives back, and the cautions that belong to its steps."""

from dataclasses import dataclass
from typing import Any

from drystow.evidence.band import NINE_IN_TEN, Band
from drystow.messages import msg

VERDICTS = ("good", "watch", "bad", "unclear")
"""good: as it should be; watch: look at it again soon; bad: do something; unclear: the readings cannot tell."""

GLASS = msg("Never pull a vacuum on glass that is not made for it, and check the door for cracks before each test.")
OIL_MIST = msg("A running oil pump gives off oil mist. Vent it outdoors or through a filter, and air out the room.")
HOT_OIL = msg("Pump oil is hot after a run. Let it cool, wear gloves, and take old oil where used oil is collected.")
DEEP_COLD = msg("The cold trap can freeze your skin to it. Wear dry gloves, and never chip its ice off with a knife.")
SHOCK = msg("Measure power only with a plug-in meter. Do not open the dryer, and keep water away from the plug.")

CAUTIONS = {
    "ice": (GLASS, DEEP_COLD, OIL_MIST),
    "leak": (GLASS, OIL_MIST, DEEP_COLD),
    "pump": (GLASS, OIL_MIST, HOT_OIL),
    "power": (SHOCK, OIL_MIST),
}
"""For each kind of test, to be shown with its steps."""


@dataclass(frozen=True)
class MachineFinding:
    """The result of one test of a machine.

    kind: ice, leak, pump or power
    values: what was measured, by name: where each number lies, SI
    verdict: one of `VERDICTS`
    words: what was found, in one or two sentences
    to_do: what to do about it, most likely cause first
    numbers: fields of the machine that the test measured, SI
    notes: on assumptions and limits
    sources: keys
    """

    kind: str
    values: dict[str, Band]
    verdict: str
    words: str
    to_do: tuple[str, ...]
    numbers: dict[str, float]
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


def around(middle: float, deviation: float, low: float = 0.0) -> Band:
    """Return nine in ten around a middle, no lower than what is possible.

    middle: most likely [-]
    deviation: standard deviation [-]
    low: least possible [-]
    """
    return Band(max(middle - NINE_IN_TEN * deviation, low), middle, middle + NINE_IN_TEN * deviation)


def spread_words(band: Band, middle: Any) -> str:
    """Return how sure a value is, in words.

    band: where it lies
    middle: the value in words
    """
    share = 0.5 * (band.high - band.low) / band.middle if band.middle > 0.0 else float("inf")
    if share < 0.1:
        return msg("{value}, almost certain", value=middle)
    if share < 0.35:
        return msg("{value}, give or take {percent}%", value=middle, percent=round(100 * share))
    if share < 1.0:
        return msg("{value}, a rough guess; it may be half as much again, or only half", value=middle)
    return msg("{value}, but the readings barely show it", value=middle)
