"""Empty run with a plug-in meter: what refrigerator and pump draw."""

from drystow.constants import ZERO_CELSIUS
from drystow.errors import InputError, check_range
from drystow.evidence.band import Band
from drystow.evidence.machine_tests.outcome import MachineFinding, around, spread_words
from drystow.machine.profile import Dryer
from drystow.messages import msg
from drystow.shown import quantity

METER_ERROR, SWING = 0.02, 0.03
"""Relative standard deviations of a plug-in meter and of the draw itself [-]. Source: drystow-default."""

WATT = 1.0
"""Least standard deviation of a reading [W]. Source: drystow-default."""

FAR = 1.35
"""A draw this many times above or below what is known is named [-]. Source: drystow-default."""


def power_test(idle: float, cooling: float, running: float, trap: float, dryer: Dryer) -> MachineFinding:
    """Return what refrigerator and pump draw, from three readings of the empty machine without shelf heat.

    idle: switched on, nothing runs [W]
    cooling: the refrigerator runs and the trap is cold, the pump is off [W]
    running: the pump runs as well and the pressure has settled [W]
    trap: temperature of the trap at the second reading [K]
    dryer: the machine, with the numbers used so far
    Source: definition, differences of readings; refrigerator at its reference temperature by the machine's own slope.
    """
    check_range("idle", idle, 0.0, 1e4, "W")
    check_range("cooling", cooling, 0.0, 1e5, "W")
    check_range("running", running, 0.0, 1e5, "W")
    check_range("trap", trap, ZERO_CELSIUS - 100.0, ZERO_CELSIUS + 30.0, "temperature")
    if not idle < cooling < running:
        raise InputError(
            "cooling",
            msg("each reading must be higher than the one before: idle, then with cooling, then with the pump too"),
        )
    factor = max(1.0 + dryer.compressor_slope * (trap - dryer.refrigeration_reference), 0.2)
    compressor = _difference(cooling, idle, factor)
    pump = _difference(running, cooling, 1.0)
    to_do = [*_compressor_words(compressor, dryer), *_pump_words(pump, dryer)]
    off = bool(to_do)
    if off:
        to_do.append(msg("Use the measured values for your dryer, so energy and cost of each batch fit it."))
    return MachineFinding(
        "power",
        {"compressor": compressor, "pump": pump},
        "watch" if off else "good",
        msg(
            "The compressor draws {compressor}, the pump {pump}.",
            compressor=spread_words(compressor, msg("{value:.0f} W", value=compressor.middle)),
            pump=spread_words(pump, msg("{value:.0f} W", value=pump.middle)),
        ),
        tuple(to_do),
        {"compressor_power": compressor.middle, "pump_power": pump.middle},
        (
            msg(
                "The compressor's draw is given for a trap at {reference}, the same as your dryer's number.",
                reference=quantity(dryer.refrigeration_reference, "temperature"),
            ),
        ),
        ("drystow-default",),
    )


def _compressor_words(draw: Band, dryer: Dryer) -> list[str]:
    if draw.low > FAR * dryer.compressor_power:
        return [
            msg(
                "The compressor draws more than your number says. Clean dust off its fins and give it "
                "air. If the trap still cools slowly, call a refrigeration technician."
            )
        ]
    if draw.high < dryer.compressor_power / FAR:
        return [
            msg(
                "The compressor draws less than your number says. If the trap gets as cold as before, "
                "your number was too high. If not, it may have lost refrigerant: have a technician look, "
                "and do not open it."
            )
        ]
    return []


def _pump_words(draw: Band, dryer: Dryer) -> list[str]:
    if draw.low > FAR * dryer.pump_power:
        return [
            msg(
                "The pump draws more than your number says: cold, old or too much oil, or a blocked "
                "exhaust filter. Let it warm up and read again; then change the oil."
            )
        ]
    if draw.high < dryer.pump_power / FAR:
        return [
            msg(
                "The pump draws less than your number says. If it empties the chamber as before, your "
                "number was too high."
            )
        ]
    return []


def _difference(more: float, less: float, factor: float) -> Band:
    spread = ((METER_ERROR * (more - less)) ** 2 + (SWING * more) ** 2 + 2.0 * WATT**2) ** 0.5
    return around((more - less) / factor, spread / factor)
