"""When food needs time and temperature control, and which germs can grow at a water activity."""

from drystow.constants import NO_GROWTH
from drystow.errors import check_range
from drystow.messages import msg

NOT_TCS = msg("needs no time or temperature control")
ASSESS = msg("needs a product assessment")

LOWEST_ACTIVITY = {
    msg("Staphylococcus aureus"): 0.83,
    msg("Listeria monocytogenes"): 0.92,
    msg("Bacillus cereus"): 0.92,
    msg("Clostridium perfringens"): 0.93,
    msg("Clostridium botulinum, proteolytic"): 0.935,
    msg("Salmonella"): 0.94,
    msg("Vibrio parahaemolyticus"): 0.94,
    msg("Escherichia coli, pathogenic"): 0.95,
    msg("Clostridium botulinum, non-proteolytic"): 0.97,
}
"""Lowest water activity for growth, other conditions best [-]. Source: fda-hazards-app4."""

SHELF_STABLE = 0.85
"""Regulatory limit of shelf-stable food [-]. Source: shelf-stable-aw."""


def tcs_class(water_activity: float, ph: float, heat_treated_and_packaged: bool) -> str:
    """Return whether the food needs no time or temperature control, or is to be kept hot or cold until it is assessed.

    water_activity: of the food [-]
    ph: of the food [-]
    heat_treated_and_packaged: heated enough to kill growing cells and packaged so that none get in again
    Source: food-code, tables A (heat treated and packaged) and B.

    >>> tcs_class(0.25, 6.0, False), tcs_class(0.98, 6.0, False)
    ('needs no time or temperature control', 'needs a product assessment')
    """
    check_range("water_activity", water_activity, 0, 1, "")
    check_range("ph", ph, 0, 14, "")
    if heat_treated_and_packaged:
        rows = ((0.92, 14.0), (0.95, 5.6), (1.0, 4.6))
        highest = next(limit for top, limit in rows if water_activity <= top)
        return NOT_TCS if ph <= highest else ASSESS
    if water_activity < 0.88:
        return NOT_TCS
    if water_activity <= 0.90:
        return NOT_TCS if ph <= 5.0 else ASSESS
    if water_activity <= 0.92:
        return NOT_TCS if ph <= 4.6 else ASSESS
    return NOT_TCS if ph < 4.2 else ASSESS


def can_grow(water_activity: float) -> tuple[str, ...]:
    """Return the disease germs whose lowest water activity for growth is reached.

    water_activity: of the food [-]
    """
    check_range("water_activity", water_activity, 0, 1, "")
    return tuple(name for name, lowest in LOWEST_ACTIVITY.items() if water_activity >= lowest)


def dryness_caution(water_activity: float) -> str:
    """Return a sentence when food is too moist for a sealed, oxygen-free package, else nothing.

    water_activity: of the food [-]
    """
    if water_activity >= SHELF_STABLE:
        return msg(
            "Water activity {activity:.2f}: not dry, disease germs can grow. Do not seal it without "
            "oxygen. Keep drying, or refrigerate and eat soon.",
            activity=water_activity,
        )
    if water_activity >= NO_GROWTH:
        return msg(
            "Water activity {activity:.2f}: mold and yeast can grow above 0.60. Keep drying before you pack.",
            activity=water_activity,
        )
    return ""


def packed_moist_caution(water_activity: float) -> str:
    """Return what to do with a package whose food was packed too moist, else nothing.

    water_activity: of the food [-]
    """
    if water_activity >= SHELF_STABLE:
        return msg(
            "Water activity {activity:.2f}: not dry, disease germs can grow in this package. Throw it out "
            "unless it was refrigerated or frozen from the day it was packed; then eat it soon.",
            activity=water_activity,
        )
    if water_activity >= NO_GROWTH:
        return msg(
            "Water activity {activity:.2f}: mold and yeast can grow above 0.60. Keep this package in "
            "the refrigerator or freezer and eat it soon. Throw it out if anything has grown on it.",
            activity=water_activity,
        )
    return ""
