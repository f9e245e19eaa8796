"""Which food goes on which tray, which foods should not dry together, and moving food from one tray to another."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from drystow.foods.marks import known_allergens
from drystow.foods.model import Food
from drystow.messages import msg
from drystow.planning.separation import smells, takes_smell
from drystow.web.batches.models import Item, Load
from drystow.web.kit import records
from drystow.web.kit.words import in_words


@dataclass(frozen=True)
class Placed:
    """A food on a tray.

    tray: number from 1, top to bottom
    name: of the food as the batch calls it
    food: what it is
    """

    tray: int
    name: str
    food: Food


@dataclass(frozen=True)
class Warned:
    """What to mind when foods share a chamber.

    kind: germs, allergens or smells
    words: what can happen
    steps: what to do about it
    """

    kind: str
    words: str
    steps: tuple[str, ...]


def spread_evenly(needs: Mapping[int, float], trays: int, last: Sequence[int] = ()) -> list[tuple[int, int, float]]:
    """Return (food, tray, share of the food): whole trays in proportion to need, shared when foods outnumber them.

    needs: food -> tray area that it would like, any unit
    trays: how many the dryer has
    last: foods that go to the lowest trays, such as raw meat

    >>> spread_evenly({7: 2.0, 8: 1.0}, 3)
    [(7, 1, 0.5), (7, 2, 0.5), (8, 3, 1.0)]
    """
    order = [food for food in needs if food not in last] + [food for food in needs if food in last]
    if not order:
        return []
    if len(order) > trays:
        return [(food, 1 + number * trays // len(order), 1.0) for number, food in enumerate(order)]
    total = sum(needs.values())
    counts = dict.fromkeys(order, 1)
    for _more in range(trays - len(order)):
        counts[max(order, key=lambda food: needs[food] / total / counts[food])] += 1
    result, tray = [], 1
    for food in order:
        result += [(food, tray + extra, 1.0 / counts[food]) for extra in range(counts[food])]
        tray += counts[food]
    return result


def neighbour_warnings(placed: Sequence[Placed]) -> list[Warned]:
    """Return what to mind when these foods share a chamber: germs, allergens and smells; what can hurt comes first."""
    return [*_germs(placed), *_allergens(placed), *_smells(placed)]


def _names(placed: Sequence[Placed]) -> str:
    return ", ".join(dict.fromkeys(one.name for one in placed))


def _germs(placed: Sequence[Placed]) -> list[Warned]:
    raw = [one for one in placed if one.food.may_be_raw]
    ready = [one for one in placed if not one.food.may_be_raw]
    if not raw:
        return []
    unsure = [one for one in raw if one.food.raw_animal is None]
    question = _("No one has said whether {unsure} is raw animal food. Ask whoever made it. Until then "
"it counts as raw.")  # fmt: skip
    ask = (question.format(unsure=_names(unsure)),) if unsure else ()
    told = {"raw": _names(raw), "ready": _names(ready)}
    clean = _("Afterward, wash trays, shelves and door seal with hot soapy water, then disinfect them "
              "before ready-to-eat food goes in.")  # fmt: skip
    if not ready:
        words = _("Raw: {raw}. Germs survive freeze-drying and stay in the dust.").format_map(told)
        return [Warned("germs", words, (*ask, _("Cook it after soaking, and say so on the label."), clean))]
    steps = [
        *ask,
        _("It is safer to dry {raw} in a batch of its own.").format_map(told),
        _("If they stay together, treat all of it as raw: every label will say “cook before eating”."),
        clean,
    ]
    above = [one for one in raw if any(one.tray <= other.tray for other in ready)]
    if above:
        words = _("{raw} is above or beside ready-to-eat food; move it to the lowest trays.")
        steps.insert(len(ask) + 1, words.format(raw=_names(above)))
    words = _("Raw and ready-to-eat food in one chamber: {raw} with {ready}. Germs survive "
              "freeze-drying and spread with dust and drips.").format_map(told)  # fmt: skip
    return [Warned("germs", words, tuple(steps))]


def _allergens(placed: Sequence[Placed]) -> list[Warned]:
    words = []
    unsure = [one for one in placed if not one.food.allergens_stated]
    if unsure:
        asked = _(
            "No one has said which allergens {unsure} contains. Ask whoever made it. Until then it "
            "may contain any of them."
        )
        words.append(asked.format(unsure=_names(unsure)))
    for allergen in dict.fromkeys(name for one in placed for name in known_allergens(one.food.allergens)):
        having = [one for one in placed if allergen in one.food.allergens]
        without = [one for one in placed if allergen not in one.food.allergens]
        if without:
            words.append(
                _("Allergen {allergen} ({having}) can get into {without} as dust.").format(
                    allergen=in_words(allergen), having=_names(having), without=_names(without)
                )
            )
    if not words:
        return []
    steps = (
        _("For someone with this allergy, dry the other food in a batch of its own, in a washed "
          "dryer."),
        _("Otherwise write “may contain” and the allergen on the other food’s labels. Labels "
          "printed here name only what is in the food itself."),
        _("Pack the food without the allergen first, with clean hands and tools."),
    )  # fmt: skip
    return [Warned("allergens", " ".join(words), steps)]


def _smells(placed: Sequence[Placed]) -> list[Warned]:
    strong = [one for one in placed if smells(one.food)]
    mild = [one for one in placed if takes_smell(one.food)]
    if not strong or not mild:
        return []
    told = {"strong": _names(strong), "mild": _names(mild)}
    words = _("{strong} scents the whole chamber, and {mild} picks it up.").format_map(told)
    steps = (
        _("Dry them in separate batches. Another tray is not enough: they share the same air."),
        _("Dry {mild} first. After {strong}, wash the door seal and air out the chamber.").format_map(told),
    )
    return [Warned("smells", words, steps)]


LEAST = 5e-4  # less than half a gram is not left over [kg]


def move_food(load: Load, tray: int, mass: float | None, *, expected: int, who: str) -> tuple[Load | None, str]:
    """Move food and return the row to undo it by, None where two rows changed; or why it cannot be moved.

    load: where it lies
    tray: where it goes
    mass: how much, None for all of it [kg]
    expected: version of the load that the person saw
    """
    if tray == load.tray:
        return None, _("{food} is already on tray {tray}.").format(food=load.item.name, tray=tray)
    amount = load.mass_kg if mass is None else mass
    if amount > load.mass_kg + LEAST:
        return None, _("There is less {food} than that on tray {tray}. Enter less, or leave it blank for "
                       "all of it.").format(food=load.item.name, tray=load.tray,
        )  # fmt: skip
    words = msg("{food}: tray {here} to tray {there}", food=load.item.name, here=load.tray, there=tray)
    there = Load.objects.kept().filter(item=load.item, tray=tray).first()
    rest = load.mass_kg - amount
    if rest < LEAST and there is None:
        return records.change(load, {"tray": tray}, expected=expected, who=who, words=words), ""
    with transaction.atomic(), records.one_action():
        if rest < LEAST:
            records.put_in_bin(load, who=who, words=words)
        else:
            records.change(load, {"mass_kg": rest}, expected=expected, who=who, words=words)
        if there is None:
            records.create(Load(item=load.item, tray=tray, mass_kg=amount), who=who, words=words)
        else:
            sum_there = {"mass_kg": there.mass_kg + amount}
            records.change(there, sum_there, expected=there.version, who=who, words=words)
    return None, ""


def lay_out(items: Iterable[Item], wanted: Mapping[tuple[int, int], float], *, who: str, words: str) -> Load | None:
    """Put food on the trays as wanted and nothing else; return one of the changed rows, None when nothing changed.

    items: foods whose trays are filled anew
    wanted: number of the food and tray -> mass [kg]
    """
    last, by_pk, missing = None, {item.pk: item for item in items}, dict(wanted)
    for row in Load.objects.kept().filter(item__in=by_pk):
        mass = missing.pop((row.item_id, row.tray), None)
        if mass is None:
            last = records.put_in_bin(row, who=who, words=words)
            continue
        written = records.change(row, {"mass_kg": mass}, expected=row.version, who=who, words=words)
        last = written if written.version != row.version else last
    for (pk, tray), mass in missing.items():
        last = records.create(Load(item=by_pk[pk], tray=tray, mass_kg=mass), who=who, words=words)
    return last
