"""What a cook is told about a food before it goes in."""

import pytest

from drystow.foods.classify import hinted
from drystow.foods.model import Composition, Food
from drystow.properties.suitability import suitability


def judge(name: str, food_class: str, raw_animal: bool = False, **parts: float):  # type: ignore[no-untyped-def]
    listed = sum(value for part, value in parts.items() if part not in ("sugars", "salt"))
    composition = Composition(water=1.0 - listed, **parts)
    return suitability(Food("own", name, food_class, composition, like=hinted(name, food_class), raw_animal=raw_animal))


# Which foods suit and which (fat, honey, jam, sugar, alcohol) do not: extension-freeze-drying, low-water-rules.
@pytest.mark.parametrize(
    ("name", "food_class", "parts", "verdict", "words"),
    [
        ("Strawberries, raw", "fruit", {"carbohydrate": 0.057, "fibre": 0.02, "sugars": 0.049}, "good", ""),
        ("Broccoli, raw", "vegetable", {"carbohydrate": 0.04, "fibre": 0.026, "protein": 0.03}, "good", ""),
        ("Tea, brewed", "liquid", {"carbohydrate": 0.003}, "no", "almost nothing would be left"),
        ("Butter", "fat", {"fat": 0.81, "protein": 0.01, "ash": 0.02}, "no", "Fat is"),
        ("Oil, olive", "fat", {"fat": 1.0}, "no", "already dry"),
        ("Peanut butter", "fat", {"fat": 0.5, "protein": 0.25, "carbohydrate": 0.22, "ash": 0.02}, "no", "already dry"),
        ("Honey", "sweet", {"carbohydrate": 0.82, "sugars": 0.82}, "no", "stays liquid or bound"),
        ("Jam", "sweet", {"carbohydrate": 0.69, "sugars": 0.6}, "no", "stays liquid or bound"),
        ("Wine", "liquid", {"alcohol": 0.10, "carbohydrate": 0.02}, "no", "alcohol"),
        ("Bananas, raw", "fruit", {"carbohydrate": 0.2, "fibre": 0.026, "sugars": 0.122}, "with care", "sticky"),
        ("Ground beef, cooked", "meat", {"protein": 0.25, "fat": 0.17, "ash": 0.01}, "with care", "rancid|fat|Fat"),
        ("Bacon, raw", "meat", {"protein": 0.13, "fat": 0.40, "ash": 0.02}, "poor", "rancid"),
    ],
)  # fmt: skip
def test_the_verdict_follows_the_composition(
    name: str, food_class: str, parts: dict[str, float], verdict: str, words: str
) -> None:
    found = judge(name, food_class, **parts)
    assert found.verdict == verdict
    assert found.reasons
    assert any(word in reason for reason in found.reasons for word in words.split("|"))


def test_raw_animal_food_carries_the_usual_cautions() -> None:
    chicken = judge("Chicken, raw", "meat", raw_animal=True, protein=0.23, fat=0.02, ash=0.01)
    assert chicken.verdict == "with care"
    assert any("COOK BEFORE EATING" in caution for caution in chicken.cautions)
    assert any("own trays" in caution for caution in chicken.cautions)
    assert any("165 °F" in step for step in chicken.preparation)
    cooked = judge("Chicken, roasted", "meat", protein=0.3, fat=0.04, ash=0.01)
    assert not any("COOK BEFORE EATING" in caution for caution in cooked.cautions)


def test_alcohol_in_the_food_warns_of_the_exhaust() -> None:
    assert any("exhaust" in caution for caution in judge("Wine", "liquid", alcohol=0.1, carbohydrate=0.02).cautions)


# Blanching times: nchfp-blanching; dips: extension-pretreatment.
@pytest.mark.parametrize(
    ("name", "food_class", "words"),
    [
        ("Broccoli, raw", "vegetable", "Blanch: 3 min"),
        ("Beans, snap, green, raw", "vegetable", "Blanch: 3 min"),
        ("Corn, sweet, yellow, raw", "starchy", "Blanch: 4 min for kernels"),
        ("Sweet potato, raw", "starchy", "Cook it until soft"),
        ("Blueberries, raw", "fruit", "prick the skin"),
        ("Apples, raw, without skin", "fruit", "ascorbic acid"),
    ],
)
def test_preparation_names_the_step_that_this_food_needs(name: str, food_class: str, words: str) -> None:
    found = judge(name, food_class, carbohydrate=0.08, fibre=0.02, protein=0.02, ash=0.007, sugars=0.04)
    assert any(words in step for step in found.preparation)


@pytest.mark.parametrize("name", ["Broccoli, cooked, boiled", "Beans, snap, canned"])
def test_cooked_vegetables_are_not_blanched_again(name: str) -> None:
    found = judge(name, "vegetable", carbohydrate=0.05, fibre=0.02, protein=0.02, ash=0.007, sugars=0.02)
    assert not any("Blanch" in step for step in found.preparation)
