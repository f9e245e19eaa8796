"""A power cut, what it did, and what to do with a tray after it, from public advice on frozen food that warmed up."""

from collections.abc import Sequence
from dataclasses import dataclass

from drystow.evidence.band import Band
from drystow.foods.kinds import class_row, is_a
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.numerics import Array
from drystow.shown import REFRIGERATOR

COLD = 277.15
"""Food no warmer than this counts as kept cold, 4 °C (40 °F) [K]. Source: power-outage-chart."""

LONGEST_WARM, LONGEST_WARM_HOT = 2 * 3600.0, 3600.0
"""Perishable food may be warmer than that so long, and in a hot room only so long [s]. Source: two-hour-rule."""

HOT_ROOM = 305.4
"""A room is hot above 32 °C (90 °F) [K]. Source: two-hour-rule."""

ICE_CRYSTALS = 0.05
"""Share of the ice that must be left for it to count as still icy [-]. Source: drystow-default."""

DRY_ENOUGH = 0.88
"""Water activity below which no food needs to be kept cold [-]. Source: food-code, table B."""

UNTOUCHED = 0.10
"""Share of the ice that may have melted for the food to count as still frozen [-]. Source: drystow-default."""

ADVICE = ("go_on", "refreeze", "cook", "discard")
"""From best to worst."""

NAMES = {
    "go_on": msg("keep drying"),
    "refreeze": msg("refreeze first"),
    "cook": msg("cook now"),
    "discard": msg("throw it out"),
}

CAUTIONS = (
    msg(
        "Never taste food to find out whether it is safe. Warm food can make you sick without smelling or looking bad."
    ),
    msg("When in doubt, throw it out. Your health authority's rules come before this advice."),
    msg(
        "This is calculated, not measured. Put a thermometer in the thickest piece before you "
        "decide. Also count the time the food was warm before loading and until it is cold again."
    ),
)
"""Shown wherever the advice is."""


@dataclass(frozen=True)
class Outage:
    """A time without power.

    start: since drying began [s]
    duration: until the power came back [s]
    opened: the chamber was opened; otherwise it stayed closed under what vacuum was left
    room: temperature of the room [K]
    """

    start: float
    duration: float
    opened: bool = False
    room: float = 294.15


@dataclass(frozen=True)
class TrayOutage:
    """One tray item over an outage.

    name: food on the tray
    ice_before: when the power went [kg]
    ice_left: when it came back [kg]
    melted: of the ice [kg]
    core: temperature of the frozen food or what became of it, at the end; of all the food where no ice was left [K]
    dried: temperature of the dried part at the end [K]
    highest: warmest the food got, at the warm edge of what is frozen [K]
    above_cold: time of moist food above 4 °C, at that edge [s]
    above_freezing: time of it above the food's freezing point [s]
    delay: later end of this tray's drying [s]
    advice: go_on, refreeze, cook or discard
    words: why
    times: moments since the power went [s]
    core_course: low, middle and high core temperature over time [K]
    """

    name: str
    ice_before: Band
    ice_left: Band
    melted: Band
    core: Band
    dried: Band
    highest: Band
    above_cold: Band
    above_freezing: Band
    delay: Band
    advice: str
    words: str
    times: Array
    core_course: Array


@dataclass(frozen=True)
class OutageResult:
    """What an outage did.

    trays: one for each item of the load
    shelf: temperature of the shelves at the end [K]
    trap: ice and water on the trap at the end, no colder than [K]
    pressure: of air in the chamber at the end [Pa]
    delay: later end of the whole run, food that melted frozen again first [s]
    refreezing: the part of that in which food is frozen again [s]
    shift: 10th, 50th and 90th percentile of the ends with the cut over those without it [s]
    notes: sentences on what else to do and what is not known
    cautions: always to be shown
    sources: keys
    """

    trays: tuple[TrayOutage, ...]
    shelf: Band
    trap: Band
    pressure: Band
    delay: Band
    refreezing: Band
    shift: tuple[float, float, float]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]


def longest_warm(food: Food, room: float) -> float:
    """Return how long a food may be warmer than 4 °C before it is thrown away [s].

    food: what it is; some classes get more than the rule for perishable food (classes.toml)
    room: temperature of the room [K]
    Source: two-hour-rule, power-outage-chart.
    """
    if not food.may_be_raw and (rule := class_row(food.food_class).get("warm")):
        return float(rule["hours"]) * 3600.0
    return LONGEST_WARM_HOT if room > HOT_ROOM else LONGEST_WARM


@dataclass(frozen=True)
class TrayFate:
    """What a power cut did to a tray, as far as advice depends on it.

    dry: no wet core was left, and it was dry enough that nothing grows
    had_ice: most likely there was still ice in it
    melted: most of the ice that may have melted, share of what was there [-]
    icy: least of the ice that may be left, share of what was there [-]
    warm: longest that it may have been above 4 °C [s]
    surely_warm: shortest that it was above 4 °C [s]
    room: temperature of the room [K]
    soft: the ice front may have come above the food's limit
    """

    dry: bool
    had_ice: bool
    melted: float
    icy: float
    warm: float
    surely_warm: float
    room: float
    soft: bool


def advise(food: Food, fate: TrayFate) -> tuple[str, str]:
    """Return the advice for a tray, one of `ADVICE`, and the sentence that says why.

    food: what it is
    fate: what the cut did to it
    """
    if fate.dry:
        return "go_on", msg(
            "It is dry enough that germs do not grow in it. Keep drying as soon as there is power. "
            "It may have picked up moisture, so weigh it before packing."
        )
    if fate.warm > longest_warm(food, fate.room):
        return "discard", _too_warm(fate, longest_warm(food, fate.room))
    if not fate.had_ice:
        return "go_on", msg(
            "Most likely no ice was left in it, and it was not above {cold} longer than allowed. "
            "Keep drying at once, without a break.",
            cold=REFRIGERATOR,
        )
    if fate.melted <= UNTOUCHED and fate.warm <= 0.0:
        if fate.soft:
            return "go_on", msg(
                "It stayed frozen but came close to melting, so it may have softened and dry slower. Let "
                "it get cold again before the shelves warm."
            )
        return "go_on", msg("It stayed frozen. Keep drying as soon as the trap is cold and the vacuum is back.")
    if fate.icy >= ICE_CRYSTALS and not (food.may_be_raw and fate.warm > 0.0):
        return "refreeze", msg(
            "Part of the ice melted; ice crystals are left. If you see them and it feels "
            "refrigerator-cold, you may refreeze it. Freeze it through before the vacuum, or it "
            "foams and boils."
        )
    return _thawed(food, fate)


def _too_warm(fate: TrayFate, limit: float) -> str:
    """Return why food that was warm for too long is thrown away, and what could still save it."""
    hours = limit / 3600.0
    if not fate.had_ice:
        return msg(
            "It may have been moist enough for germs, even with no ice left, and it was above {cold} "
            "longer than the {hours:.0f} h allowed. Keep it only if the scale shows that it was dry "
            "when the power went out.",
            cold=REFRIGERATOR,
            hours=hours,
        )
    if fate.surely_warm > limit:
        return msg(
            "Its wet part was above {cold} longer than the {hours:.0f} h allowed.", cold=REFRIGERATOR, hours=hours
        )
    return msg(
        "Its wet part may have been above {cold} longer than the {hours:.0f} h allowed. Keep it "
        "only if a thermometer in the thickest piece shows {cold} or less.",
        cold=REFRIGERATOR,
        hours=hours,
    )


def _thawed(food: Food, fate: TrayFate) -> tuple[str, str]:
    """Return the advice for food that may have thawed, though it was not warm for too long."""
    if food.raw_animal is None:
        return "cook", msg(
            "It may have thawed, and no one has said whether it is raw animal food. Ask whoever made "
            "it. Until then do not keep drying it; cook it through now, to the temperature your food "
            "code asks for."
        )
    if food.raw_animal is True:
        return "cook", msg(
            "It may have thawed, and it is raw animal food: do not keep drying it as it is. Cook it "
            "through now, to the temperature your food code asks for. Cooked food may then be eaten, "
            "or cooled quickly, frozen and dried."
        )
    if fate.warm <= 0.0:
        return "refreeze", msg(
            "It may have thawed but stayed at {cold} or below, so you may refreeze it and keep "
            "drying. It will be softer and dry slower.",
            cold=REFRIGERATOR,
        )
    if is_a(food.food_class, "refrozen-by-look"):
        return "refreeze", msg(
            "It may have thawed. Fruit may be refrozen unless it is moldy, slimy or smells of yeast. "
            "It will be softer and dry slower."
        )
    return "cook", msg(
        "It may have thawed and was above {cold} for a while. Cook or heat it through and eat it "
        "now; do not keep drying it as it is.",
        cold=REFRIGERATOR,
    )


def notes_on(outage: Outage, trays: Sequence[TrayOutage]) -> tuple[str, ...]:
    """Return what else to do after a power cut.

    outage: opened or not
    trays: what it did to them
    """
    notes: list[str] = []
    if any(tray.melted.high > 0.02 * max(tray.ice_before.high, 1e-9) and tray.advice != "discard" for tray in trays):
        notes.append(
            msg(
                "Where ice melted, the wet part foams, splashes and shrinks under vacuum. Such a batch "
                "may never dry well. Freeze it through again, and cut the thickest pieces open before "
                "you trust the scale."
            )
        )
    notes.append(
        msg(
            "The later end allows for what the outage left. Food that melted by more than a tenth is "
            "refrozen first. Then the trap gets cold, the vacuum comes back, and the program picks "
            "up where it stopped."
        )
    )
    notes.append(
        msg(
            "When the power is back, let the cold trap get cold before the pump starts. If its ice "
            "melted, drain and defrost it first, so no water is drawn into the pump. Leave the shelf "
            "heat off until the vacuum holds."
        )
    )
    notes.append(
        msg("While the power is off, keep the chamber closed. Vacuum and cold ice are the best insulation.")
        if not outage.opened
        else msg("An open chamber warms many times faster, and dry food picks up moisture from the room.")
    )
    return tuple(notes)
