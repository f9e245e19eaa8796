"""Whether a food freeze-dries well at home, why, what to watch and how to prepare it, in a cook's words."""

from dataclasses import dataclass

from drystow.foods.kinds import is_a, of_relatives, property_of
from drystow.foods.marks import ASK_FOR_ALLERGENS, raw_cautions
from drystow.foods.model import Food
from drystow.messages import Message, msg
from drystow.properties.glass import dry_glass_temperature, gordon_taylor, gordon_taylor_constant
from drystow.properties.ice import ice_fraction, initial_freezing_point
from drystow.properties.skin import has_skin, usual_state
from drystow.shown import both, quantity
from drystow.units import fahrenheit

VERDICTS = ("good", "with care", "poor", "no")
"""From best to worst."""

HOME_FREEZER = 253.15
"""Temperature at which the ice is counted, -20 °C [K]. Source: drystow-default."""

LEAST_ICE, LITTLE_ICE, SOME_ICE = 0.005, 0.15, 0.35
"""Below these ice fractions at -20 °C there is none, nothing worth it, or not much to sublime [-].
Source: low-water-rules."""

LITTLE_WATER, SOME_WATER = 0.05, 0.13
"""Below these shares of water any food, or one that is no syrup, is already dry [-]. Source: low-water-rules."""

FEW_SOLIDS = 0.01
"""Below this share of solids nothing is left to keep [-]. Source: low-water-rules."""

FAT_NO, FAT_POOR, FAT_CARE = 0.80, 0.60, 0.35
"""Shares of fat in the solids from which a food will not, hardly, or only with care keep well dry [-].
Source: low-water-rules."""

ALCOHOL_NO, ALCOHOL_CARE = 0.05, 0.005
"""Alcohol from which a food does not freeze hard enough, or should be watched [-]. Source: low-water-rules."""

SUGAR_POOR, SUGAR_CARE = 0.30, 0.12
"""Sugars in the fresh food from which the frozen concentrate is soft [-]. Source: low-water-rules."""

SALT_CARE = 0.03
"""Salt in the fresh food from which brine stays liquid in the freezer [-]. Source: low-water-rules."""

TARGET_MOISTURE, WARM_PANTRY = 0.02, 303.15
"""At this moisture and storage temperature food should still be glassy [-], [K]. Source: drystow-default."""

FAT_OFF = 0.10
"""Share of fat in the solids from which it is taken off before drying [-]. Source: cooks-practice."""

THIN_LIQUID = 0.95
"""Share of water from which a liquid is better boiled down first [-]. Source: cooks-practice."""

MUCH_SUGAR = 0.30
"""Sugars from which food with little water is a syrup, not a dry food [-]. Source: low-water-rules."""

THICK = quantity(0.0127, "length")
"""Thickness of pieces and layers at most, half an inch. Source: extension-freeze-drying."""

INSTEAD = {
    "sweet": msg("Store it as it is, tightly closed; it keeps without drying."),
    "jam": msg("Keep it canned or refrigerated, or freeze-dry the fruit before you cook it with sugar."),
    "puffs": msg(
        "Warmth and vacuum only puff it up and make it crisp. It loses hardly any water, and Drystow has no forecast "
        "for that."
    ),
    "fat": msg("Store it as it is, cool and dark, and add it when you cook or eat."),
    "dry": msg("Pack it as it is."),
    "thin": msg("Boil it down or brew it stronger first."),
    "alcohol": msg("Dry the food without the alcohol and add that later."),
    "lean": msg("Choose a leaner kind."),
    "other": msg("Leave it out and store it as it is."),
}
"""What to do with food that does not dry. Source: cooks-practice."""

FAT_STEPS = {
    "trim": msg("Trim off the fat that you can see."),
    "drain": msg("Drain off the fat and blot the meat dry."),
    "skim": msg("Chill it and lift off the fat on top."),
}
"""How fat is taken off. Source: cooks-practice."""

POUR = msg("Leave room for foam below the tray's rim when you pour it, and freeze the tray level.")
ON_THE_TRAY: dict[str, tuple[Message, ...]] = {
    "pieces": (msg("Cut it into even pieces, at most {thick} thick, and freeze them in a single layer.", thick=THICK),),
    "small": (msg("Freeze it in a single layer, so that nothing sticks together."),),
    "leaves": (msg("Spread the leaves in a loose, even layer; they need no cutting."),),
    "loose": (msg("Break up lumps and spread it in a loose, even layer, at most {thick} deep.", thick=THICK),),
    "smooth": (msg("Spread it in an even layer, at most {thick} deep.", thick=THICK),),
    "spread": (
        msg("Spread it in an even layer, at most {thick} deep, and cut large pieces in it smaller.", thick=THICK),
    ),
    "pour": (POUR,),
    "beaten": (msg("Beat it until it is even."), POUR),
    "shred": (msg("Shred, crumble or slice it thinly, and freeze it in a loose layer."),),
    "frozen": (
        msg(
            "Slice or scoop it while it is hard, at most {thick} thick, onto trays that are already cold.", thick=THICK
        ),
        msg("Keep it frozen hard until the vacuum is on, and start with a cool shelf. Once it softens, it foams."),
    ),
}
"""How food goes on the tray, by `form` of classes.toml. Source: cooks-practice; extension-freeze-drying."""

SKIN = msg("Halve it or prick the skin. A whole waxy skin traps vapor: the fruit stays wet inside or bursts.")
"""Source: extension-pretreatment."""

RAW_ANIMAL = (
    msg("Freeze-drying does not kill germs: dried, it is as raw as it was fresh. Mark it COOK BEFORE EATING."),
    msg(
        "Keep it on its own trays, never above or beside ready-to-eat food. Wash and disinfect "
        "trays, chamber and hands afterward."
    ),
    msg("Not for infants or people who are pregnant, elderly or ill, unless cooked through after adding water."),
)


@dataclass(frozen=True)
class Suitability:
    """Whether a food freeze-dries well.

    verdict: good, with care, poor or no
    reasons: sentences on why
    cautions: sentences on what can hurt or spoil
    preparation: sentences on what to do before freezing
    """

    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    preparation: tuple[str, ...]


def suitability(food: Food, skin_state: str = "") -> Suitability:
    """Return whether a food freeze-dries well, from what it is made of.

    food: the food
    skin_state: what was done to its skin, one of `drystow.properties.skin.SKIN_STATES`, empty where nobody said
    Source: low-water-rules for the limits, extension-freeze-drying for raw food, nchfp-blanching for times.
    """
    findings = [*_ice(food), *_fat(food), *_sugar(food), *_alcohol_and_salt(food)]
    if food.raw_animal is True:
        findings.append(("with care", msg("It is raw animal food, and drying does not make it safe to eat.")))
    elif food.may_be_raw:
        findings.append(("with care", msg("It may be raw animal food, and drying does not make that safe to eat.")))
    if of_relatives("limp", food.food_class, food.like):
        limp = msg("It comes back limp, not crisp. Use it in cooked dishes and drinks, or as a powder.")
        findings.append(("with care", limp))
    verdict = max((grade for grade, _ in findings), key=VERDICTS.index, default="good")
    if verdict == "no":
        against = tuple(text for grade, text in findings if grade == "no")
        return Suitability(verdict, (*against, _instead(food)), _cautions(food), ())
    reasons = tuple(text for _, text in findings) or (msg("Plenty of ice, little fat, and it freezes firm."),)
    return Suitability(verdict, reasons, _cautions(food), _preparation(food, skin_state))


def will_not_dry(food: Food) -> Message | None:
    """Return why a food has nothing to freeze-dry and what to do instead, None where it has.

    food: the food
    Source: low-water-rules.
    """
    against: str | None = _no_ice(food)
    if food.composition.alcohol >= ALCOHOL_NO:
        against = against or _alcohol_and_salt(food)[0][1]
    if against is None:
        return None
    return msg("'{food}' will not dry. {why} {instead}", food=food.name, why=against, instead=_instead(food))


def _instead(food: Food) -> Message:
    """Return what to do with food whose verdict is no."""
    composition, kind = food.composition, food.food_class
    if composition.alcohol >= ALCOHOL_NO:
        return INSTEAD["alcohol"]
    if composition.solids < FEW_SOLIDS:
        return INSTEAD["thin"]
    if known := property_of("instead", kind, food.like):
        return INSTEAD[known]
    if _no_ice(food) is not None:
        dry = composition.water < SOME_WATER and composition.sugars < MUCH_SUGAR
        return INSTEAD["dry" if dry else "other"]
    return INSTEAD["lean"]


def _ice(food: Food) -> list[tuple[str, str]]:
    composition = food.composition
    if (against := _no_ice(food)) is not None:
        return [("no", against)]
    if composition.solids < FEW_SOLIDS:
        return [
            ("no", msg("It is {water:.1%} water: almost nothing would be left on the tray.", water=composition.water))
        ]
    ice = _home_ice(food)
    if ice < SOME_ICE:
        return [
            (
                "with care",
                msg(
                    "At {cold} only {ice:.0%} of it is ice. It dries slowly for the little water it loses.",
                    ice=ice,
                    cold=quantity(HOME_FREEZER, "temperature"),
                ),
            )
        ]
    return []


def _no_ice(food: Food) -> Message | None:
    """Return why there is no ice to dry off, None where there is."""
    composition = food.composition
    if composition.water < LITTLE_WATER or (composition.water < SOME_WATER and composition.sugars < MUCH_SUGAR):
        return msg("Only {water:.0%} water: it is already dry.", water=composition.water)
    ice = _home_ice(food)
    if ice >= LITTLE_ICE:
        return None
    cold = quantity(HOME_FREEZER, "temperature")
    if ice < LEAST_ICE:
        return msg("None of it freezes at {cold}: its water stays liquid or bound and will not dry off.", cold=cold)
    return msg(
        "At {cold} only {ice:.0%} of it is ice. Nearly all its other water stays liquid or bound and will not dry off.",
        ice=ice,
        cold=cold,
    )


def _home_ice(food: Food) -> float:
    """Return the share of a food that is ice in a home freezer [-]."""
    start = initial_freezing_point(food.composition, food.food_class, food.like)
    return float(ice_fraction(food.composition, start, HOME_FREEZER)) if start > 230.0 else 0.0


def _fat(food: Food) -> list[tuple[str, str]]:
    solids = food.composition.solids
    share = food.composition.fat / solids if solids > 0 else 0.0
    if share >= FAT_NO:
        return [
            (
                "no",
                msg(
                    "Fat is {fat:.0%} of what is left once the water is gone. Fat does not dry; it melts on "
                    "the warm shelf and turns rancid.",
                    fat=share,
                ),
            )
        ]
    if share >= FAT_POOR:
        return [
            (
                "poor",
                msg(
                    "Fat is {fat:.0%} of what is left once the water is gone. It smears on the shelf and "
                    "turns rancid within months.",
                    fat=share,
                ),
            )
        ]
    if share >= FAT_CARE:
        return [
            (
                "with care",
                msg(
                    "Fat is {fat:.0%} of what is left once the water is gone. Pack it without oxygen and use it first.",
                    fat=share,
                ),
            )
        ]
    return []


def _sugar(food: Food) -> list[tuple[str, str]]:
    composition = food.composition
    found: list[tuple[str, str]] = []
    if composition.sugars >= SUGAR_POOR:
        sentence = msg(
            "It is {sugars:.0%} sugar. Its frozen syrup is soft, and foams or sticks unless it is "
            "very cold and warmed slowly.",
            sugars=composition.sugars,
        )
        found.append(("poor", sentence))
    elif composition.sugars >= SUGAR_CARE:
        sentence = msg(
            "It is {sugars:.0%} sugar. Freeze it hard, start with a cool shelf, and pack it at once: "
            "it turns sticky in damp air.",
            sugars=composition.sugars,
        )
        found.append(("with care", sentence))
    elif composition.solids > 0 and composition.sugars > 0.5 * composition.solids:
        dry = dry_glass_temperature(composition, food.food_class, food.like)
        k = float(gordon_taylor_constant(min(dry, 420.0)))
        if float(gordon_taylor(TARGET_MOISTURE, dry, k)) < WARM_PANTRY:
            sentence = msg(
                "Mostly sugar when dry. Even at 2% moisture it can turn sticky in a warm pantry, so dry "
                "it well and seal it at once."
            )
            found.append(("good", sentence))
    return found


def _alcohol_and_salt(food: Food) -> list[tuple[str, str]]:
    composition = food.composition
    found: list[tuple[str, str]] = []
    if composition.alcohol >= ALCOHOL_NO:
        sentence = msg(
            "It holds {alcohol:.0%} alcohol. It does not freeze hard, and the cold trap does not catch its vapor.",
            alcohol=composition.alcohol,
        )
        found.append(("no", sentence))
    elif composition.alcohol >= ALCOHOL_CARE:
        found.append(
            (
                "with care",
                msg("It holds a little alcohol, which freezes late and slips past the cold trap to the pump."),
            )
        )
    if composition.salt >= SALT_CARE:
        sentence = msg(
            "It is {salt:.0%} salt. Strong brine stays liquid below {cold} and may splash under vacuum.",
            cold=quantity(HOME_FREEZER, "temperature"),
            salt=composition.salt,
        )
        found.append(("with care", sentence))
    return found


def _cautions(food: Food) -> tuple[str, ...]:
    cautions = list(raw_cautions(food.raw_animal, RAW_ANIMAL))
    if food.composition.alcohol >= ALCOHOL_CARE:
        cautions.append(msg("Alcohol vapor can burn. Keep flames and sparks away from the pump exhaust."))
    if is_a(food.food_class, "spoils-wet") or of_relatives("spoils_wet", food.food_class, food.like):
        cautions.append(msg("Once water is added it spoils like fresh food. Eat it within 2 hours or refrigerate it."))
    if not food.allergens_stated:
        cautions.append(ASK_FOR_ALLERGENS)
    return tuple(cautions)


def _preparation(food: Food, skin_state: str) -> tuple[str, ...]:
    """Return what to do before freezing: clean, blanch or cook, keep pale, take off fat, bring it onto the tray."""
    kind, like, composition = food.food_class, food.like, food.composition
    how = _named(property_of("form", kind, like))
    steps: list[str] = []
    if of_relatives("stone", kind, like):
        steps.append(msg("Take out any stones."))
    if of_relatives("soften", kind, like):
        steps.append(msg("Cook it until soft; it needs no blanching."))
    if blanched := property_of("blanch", kind, like):
        steps.append(
            msg(
                "Blanch: {how}. Chill for the same time and drain well. Above {high}, blanch 1 min longer.",
                high=quantity(1524.0, "altitude"),
                how=msg(blanched),
            )
        )
    opened = skin_state not in ("", "whole") or usual_state(food, "sphere") == "blanched"
    if has_skin(food) and is_a(kind, "skinned") and not opened:
        steps.append(SKIN)
    if of_relatives("brown", kind, like):
        steps.append(
            msg(
                "To prevent browning, dip slices for 3 to 5 min in 1 tsp of ascorbic acid in {bath} of water. Equal "
                "parts of lemon juice and water work too.",
                bath=quantity(4.73e-4, "volume", 0),
            )
        )
    if food.may_be_raw and is_a(kind, "cooked-first"):
        steps.append(
            msg(
                "Better cooked first: ground meat and egg dishes to {ground}, poultry to {poultry}, "
                "whole cuts and fish to {cuts}. Check your local agency's advice.",
                ground=both(fahrenheit(160.0), "temperature"),
                poultry=both(fahrenheit(165.0), "temperature"),
                cuts=both(fahrenheit(145.0), "temperature"),
            )
        )
    if how == "pour" and composition.water > THIN_LIQUID:
        steps.append(msg("Boil it down first: there is little to keep in so much water."))
    if (off := property_of("fat_off", kind, like)) and composition.fat > FAT_OFF * composition.solids:
        steps.append(FAT_STEPS[_named(off)])
    return (*steps, *ON_THE_TRAY[how])


def _named(found: str | dict[str, str]) -> str:
    """Return what a class says as a word and a family of kinds as a row."""
    return found if isinstance(found, str) else found["how"]
