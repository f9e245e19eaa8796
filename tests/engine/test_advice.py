"""The advice for common foods, as a cook reads it: what must be said of each, and what must not.

Where a source is named it says so itself: nchfp-blanching (which vegetables are blanched, which are cooked soft),
extension-pretreatment (which cuts are kept pale), extension-freeze-drying (raw meat, fish and egg stay raw; honey, jam,
nut butter, oil and chocolate do not dry). All else is common practice, no published source.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import pytest

from drystow.errors import InputErrors
from drystow.foods.classify import hinted
from drystow.foods.kinds import class_rows, relative_rows
from drystow.foods.model import Composition, Food
from drystow.foods.table import every, get
from drystow.machine.loadfile import parse_load
from drystow.planning.load.basket import parse_basket
from drystow.planning.schedule.plan_file import parse_lots
from drystow.properties.suitability import FAT_STEPS, INSTEAD, ON_THE_TRAY, Suitability, suitability, will_not_dry

CUT, POURED, SPREAD, LOOSE = (
    "Cut it into even pieces",
    "when you pour it",
    "Spread it in an even layer",
    "Break up lumps",
)
LAYER, LEAVES, BLANCH, RAW, WET = (
    "single layer",
    "Spread the leaves",
    "Blanch",
    "COOK BEFORE EATING",
    "spoils like fresh",
)
ACID, SKIN, SOFT, STONES = "ascorbic acid", "prick the skin", "Cook it until soft", "stones"
TRIM, DRAIN, SKIM, BOIL = "Trim off", "Drain off the fat", "lift off the fat", "Boil it down"
HARD, SHRED, BEAT, SLICE = "frozen hard until the vacuum", "Shred", "Beat it", "Slice or scoop"
NEVER = (TRIM, DRAIN, SKIM, POURED, BLANCH, RAW, BEAT, SHRED, HARD, "Trim or drain")
"""What is said of few foods only: of each of the others it is wrong."""


@dataclass(frozen=True)
class Read:
    """What a cook should read of a food: its verdict, words that must stand there, words that must not."""

    name: str
    verdict: str
    said: tuple[str, ...]
    unsaid: tuple[str, ...] = ()
    source: str = "common practice, no published source"


NCHFP, PALE, STAYS_RAW = "nchfp-blanching", "extension-pretreatment", "extension-freeze-drying"
FOODS = (
    # fruit
    Read("Strawberries, raw", "good", (CUT,), (SKIN, ACID)),
    Read("Blueberries, raw", "good", (SKIN, LAYER), (CUT, ACID), PALE),
    Read("Cherries, sweet, raw", "with care", (STONES, SKIN, LAYER), (CUT,), PALE),
    Read("Bananas, raw", "with care", (ACID, CUT), (SKIN, STONES), PALE),
    Read("Apples, raw, without skin", "good", (ACID, CUT), (SKIN,), PALE),
    Read("Peaches, yellow, raw", "good", (STONES, ACID, CUT), (SKIN,), PALE),
    Read("Applesauce, unsweetened", "good", (SPREAD,), (CUT, ACID, "large pieces")),
    Read("Avocado, raw", "with care", (STONES, ACID, CUT, "without oxygen"), (SKIN,)),
    Read("Guacamole, NFS", "with care", (SPREAD, "without oxygen", WET), (CUT, ACID, STONES)),
    Read("Olives, black", "with care", ("without oxygen",), (SPREAD,)),
    # leaves, vegetables, roots, mushrooms
    Read("Spinach, raw", "good", (f"{BLANCH}: 2 min", LEAVES), (CUT, WET), NCHFP),
    Read("Lettuce, raw", "with care", ("limp", LEAVES), (CUT, BLANCH)),
    Read("Basil, raw", "good", (LEAVES,), (CUT, BLANCH), NCHFP),
    Read("Carrots, raw", "good", (f"{BLANCH}: 2 min", CUT), (SPREAD,), NCHFP),
    Read("Beets, raw", "good", (SOFT, CUT), (BLANCH,), NCHFP),
    Read("Pumpkin, raw", "good", (SOFT,), (BLANCH,), NCHFP),
    Read("Potatoes, flesh and skin, raw", "good", (f"{BLANCH}: 3 to 5 min", CUT), (SPREAD,), NCHFP),
    Read("Potato, mashed, NFS", "good", (SPREAD, WET), (CUT, BLANCH, "large pieces")),
    Read("Sweet potato, canned, mashed", "good", (SPREAD, WET), (CUT, BLANCH, SOFT)),
    Read("Mushrooms, raw", "good", (f"{BLANCH}: steam", CUT), (SPREAD,), NCHFP),
    Read("Corn, sweet, yellow, raw", "good", (f"{BLANCH}: 4 min for kernels", LAYER), (CUT,), NCHFP),
    Read("Green peas, frozen, cooked, no added fat", "good", (LAYER,), (CUT, BLANCH)),
    Read("Tomato sauce, canned, no salt added", "good", (SPREAD,), (CUT, BLANCH, SKIN)),
    # dishes
    Read("Soup, chicken noodle", "good", (SKIM, POURED, WET), (CUT, SPREAD)),
    Read("Soup, cream of chicken", "good", (SKIM, POURED, WET), (CUT, SPREAD)),
    Read("Soup, chicken broth, ready-to-serve", "good", (BOIL, POURED), (CUT, SPREAD, SKIM)),
    Read("Gravy, NFS", "good", (SKIM, POURED, WET), (CUT, SPREAD)),
    Read("Stew, beef", "good", (SKIM, SPREAD, "large pieces", WET), (CUT, POURED)),
    Read("Lasagna with meat", "good", (SPREAD, WET), (CUT, SKIM, TRIM)),
    Read("Hummus, plain", "with care", (SPREAD, WET), (CUT, SKIM, TRIM)),
    # grains, beans
    Read("Rice, cooked, NFS", "good", (LOOSE, WET), (CUT,)),
    Read("Pasta, cooked", "good", (LOOSE, WET), (CUT,)),
    Read("Black beans, from dried, no added fat", "good", (LOOSE, WET), (CUT,)),
    Read("Beans, black turtle, mature seeds, raw", "no", ("already dry", "Pack it as it is"), ("liquid or bound",)),
    Read("Refried beans", "good", (SPREAD, WET), (CUT, LOOSE)),
    Read("Oatmeal, NFS", "good", (SPREAD, WET), (CUT, LOOSE)),
    Read("Bread, whole wheat", "with care", (CUT, "dries slowly"), (SPREAD, WET)),
    Read("Tofu, hard, prepared with nigari", "good", (CUT, WET), (SPREAD,)),
    # meat, fish
    Read("Beef, ground, raw", "with care", (RAW, "cooked first", DRAIN, LOOSE, WET), (CUT, TRIM), STAYS_RAW),
    Read("Beef, ground", "with care", (DRAIN, LOOSE, WET), (CUT, TRIM, RAW, "cooked first")),
    Read("Chicken, breast, boneless, skinless, raw", "with care", (RAW, "165 °F", CUT), (TRIM, SKIN), STAYS_RAW),
    Read("Chicken breast, stewed, skin not eaten", "good", (CUT, WET), (RAW, SKIN)),
    Read("Pork, loin, boneless, raw", "with care", (RAW, TRIM, CUT), (DRAIN,), STAYS_RAW),
    Read("Fish, salmon, raw", "with care", (RAW, CUT), (TRIM,), STAYS_RAW),
    Read("Shrimp, steamed or boiled", "good", (CUT, WET), (RAW, TRIM)),
    # egg, milk
    Read("Egg, whole, raw, fresh", "with care", (RAW, "egg dishes to", BEAT, POURED), (CUT, TRIM, LOOSE), STAYS_RAW),
    Read("Egg, whole, cooked, scrambled", "with care", (LOOSE, WET), (POURED, BEAT, RAW, "drain")),
    Read("Egg, whole, cooked, hard-boiled", "with care", (CUT, WET), (POURED, BEAT, RAW, SPREAD)),
    Read("Milk, whole", "good", (POURED, WET), (CUT,)),
    Read("Yogurt, plain, whole milk", "good", (SPREAD, WET), (CUT, POURED)),
    Read("Cream, heavy", "no", ("Fat does not dry", "leaner"), ("already dry",)),
    Read("Cheese, cheddar", "with care", (SHRED, "without oxygen"), (CUT, TRIM)),
    Read("Cheese, cottage, NFS", "good", (SPREAD, WET), (CUT, SHRED)),
    Read("Ice creams, vanilla", "with care", (SLICE, HARD), (POURED, "room for foam", "drain", CUT)),
    Read("Sherbet, orange", "with care", (SLICE, HARD), (POURED, CUT)),
    Read("Puddings, vanilla, ready-to-eat", "with care", (SPREAD,), (CUT, HARD)),
    # what does not dry
    Read("Candies, marshmallows", "no", ("None of it freezes", "puff it up"), ("foams or sticks",)),
    Read("Candies, hard", "no", ("already dry", "Store it as it is"), ("frozen syrup",)),
    Read("Candy, caramel", "no", ("None of it freezes", "Store it as it is"), ("frozen syrup", "without oxygen")),
    Read("Jams and preserves", "no", ("None of it freezes", "freeze-dry the fruit"), ("frozen syrup",), STAYS_RAW),
    Read("Honey", "no", ("None of it freezes", "Store it as it is"), ("frozen syrup",), STAYS_RAW),
    Read("Syrups, maple", "no", ("None of it freezes", "Store it as it is"), ("frozen syrup",)),
    Read("Chocolate, dark, 60-69% cacao solids", "no", ("already dry",), ("without oxygen",), STAYS_RAW),
    Read("Peanut butter", "no", ("already dry", "add it when you cook"), ("without oxygen",), STAYS_RAW),
    Read("Butter, salted", "no", ("Fat does not dry", "add it when you cook"), (), STAYS_RAW),
    Read("Oil, olive, salad or cooking", "no", ("Fat does not dry", "add it when you cook"), (), STAYS_RAW),
    Read("Coffee, brewed", "no", ("almost nothing", "brew it stronger"), (BOIL + " first: there",)),
)  # fmt: skip


def whole(advice: Suitability) -> str:
    return " ".join((*advice.reasons, *advice.cautions, *advice.preparation))


@pytest.mark.parametrize("read", FOODS, ids=lambda read: read.name)
def test_a_cook_reads_what_is_right_and_nothing_that_is_not(read: Read) -> None:
    advice = suitability(get(read.name))
    text = whole(advice)
    assert advice.verdict == read.verdict
    assert [words for words in read.said if words not in text] == []
    unsaid = {*read.unsaid, *NEVER} - set(read.said)
    unsaid = {words for words in unsaid if not any(words in said for said in read.said)}
    assert [words for words in unsaid if words in text] == []


def test_all_food_of_the_table_is_told_one_way_onto_the_tray_or_none() -> None:
    ways = [tuple(str(step) for step in steps) for steps in ON_THE_TRAY.values()]
    for food in every():
        advice = suitability(food)
        found = [steps for steps in ways if advice.preparation[-len(steps) :] == steps]
        assert bool(found) == (advice.verdict != "no"), food.name
        assert advice.verdict != "no" or advice.reasons[-1] in INSTEAD.values()


def test_what_classes_and_kinds_say_of_a_tray_is_known() -> None:
    for row in (*class_rows().values(), *relative_rows().values()):
        for name, known in (("form", ON_THE_TRAY), ("fat_off", FAT_STEPS)):
            said = row.get(name)
            assert said is None or (said if isinstance(said, str) else said["how"]) in known
        assert row.get("instead", "other") in INSTEAD


# A food of one's own says the same by its name, read once, or by `like`, in any language.
@pytest.mark.parametrize(
    ("name", "food_class", "parts", "words", "not_words"),
    [
        ("Pumpkin mash", "vegetable", {"carbohydrate": 0.07}, SPREAD, CUT),
        ("Leek soup", "dish", {"carbohydrate": 0.07}, POURED, CUT),
        ("Mango sorbet", "sweet", {"carbohydrate": 0.2, "sugars": 0.18}, HARD, POURED),
        ("Scrambled eggs", "egg", {"protein": 0.12, "fat": 0.1}, LOOSE, POURED),
        ("Minced lamb, cooked", "meat", {"protein": 0.2, "fat": 0.15}, DRAIN, TRIM),
    ],
)
def test_the_state_of_ones_own_food_is_read_from_its_name_once(
    name: str, food_class: str, parts: dict[str, float], words: str, not_words: str
) -> None:
    composition = Composition(water=1.0 - sum(value for key, value in parts.items() if key != "sugars"), **parts)
    like = hinted(name, food_class)
    for called in (name, "Sin nombre"):  # the name itself says nothing any more
        text = whole(suitability(Food("own", called, food_class, composition, like=like, raw_animal=False)))
        assert words in text
        assert not_words not in text


SWEETS = ("Honey", "Jams and preserves", "Candy, caramel", "Candies, marshmallows", "Syrups, maple", "Peanut butter",
          "Beans, black turtle, mature seeds, raw", "Butter, salted")  # fmt: skip


@pytest.mark.parametrize("name", SWEETS)
def test_food_without_ice_is_refused_plainly_in_every_file_with_what_to_do_instead(name: str) -> None:
    against = will_not_dry(get(name))
    assert against is not None
    assert f"'{name}' will not dry." in against
    assert against.endswith(suitability(get(name)).reasons[-1])
    row: dict[str, Any] = {"food": name, "mass": "600 g", "size": "10 mm"}
    frame = {"dryer": {"profile": "bench-4"}, "program": {"shelf": ["40 degC until dry"]}}
    lot = row | {"arrives": datetime(2026, 9, 8, 18)}
    plan = {"begin": date(2026, 9, 7), "dryer": [{"name": "Bench", "profile": "bench-4"}], "arrival": [lot]}
    for read, raw, field in (
        (parse_load, frame | {"tray": [row]}, "tray[1].food"),
        (parse_basket, frame | {"time": "30 h", "food": [row]}, "food[1].food"),
        (parse_lots, plan, "arrival[1].food"),
    ):
        with pytest.raises(InputErrors) as caught:
            read(raw)
        assert [(problem.field, problem.message) for problem in caught.value.problems] == [(field, against)]


def test_food_with_ice_is_not_refused() -> None:
    for name in ("Ice creams, vanilla", "Cheese, cheddar", "Bread, whole wheat", "Coffee, brewed", "Cream, heavy"):
        assert will_not_dry(get(name)) is None
