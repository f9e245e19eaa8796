"""What is not stated never passes for "no": in the functions that read the marks, and in all that ask them."""

import ast
import re
from pathlib import Path

import pytest

from drystow.foods.marks import ASK_WHETHER_RAW, NOT_STATED, UNKNOWN, raw_cautions, raw_line, raw_note, raw_tag
from drystow.foods.model import Composition, Food
from drystow.foods.recipe import Ingredient, RecipeSpec, prepare
from drystow.foods.table import get
from drystow.planning.separation import RULES, clash, depth
from drystow.planning.separation import cautions as sharing

SRC = Path(__file__).parents[2] / "src" / "drystow"
WET = Composition(water=0.8, carbohydrate=0.2)


def own(name: str, raw: bool | None = None, allergens: tuple[str, ...] = UNKNOWN) -> Food:
    return Food(f"own:{name}", name, "dish", WET, raw_animal=raw, allergens=allergens, own=True)


def test_an_open_question_gives_every_caution_behind_the_question() -> None:
    cautions = ("cook it", "wash the trays")
    assert raw_cautions(True, cautions) == cautions
    assert raw_cautions(None, cautions) == (ASK_WHETHER_RAW, *cautions)
    assert raw_cautions(False, cautions) == ()
    for words in (raw_line, raw_note, raw_tag):
        assert words(None)
        assert words(True)
        assert words(None) != words(True)
        assert not words(False)


@pytest.mark.parametrize(
    ("marks", "cooked", "raw"),
    [((True, None), False, True), ((None, False), False, None), ((False, False), False, False), ((None,), True, False)],
)
def test_a_dish_is_as_open_as_its_most_open_ingredient(
    marks: tuple[bool | None, ...], cooked: bool, raw: bool | None
) -> None:
    lines = tuple(Ingredient(own(f"part {n}", mark, ()), 1.0) for n, mark in enumerate(marks))
    assert prepare(RecipeSpec("Pot", lines, cooked=cooked)).raw_animal is raw


def test_a_dish_keeps_known_allergens_beside_those_that_are_not_stated() -> None:
    lines = (Ingredient(own("pan", False, ("wheat",)), 1.0), Ingredient(own("salsa", False), 0.2))
    dish = prepare(RecipeSpec("Torta", lines))
    assert dish.allergens == ("wheat", NOT_STATED)
    assert not dish.allergens_stated


@pytest.mark.parametrize("other", [own("a", True, ()), own("b", False, ())])
def test_food_that_may_be_raw_goes_apart_from_food_of_which_it_is_known(other: Food) -> None:
    unsure = own("Camarones", None, ())
    for pair in ((unsure, other), (other, unsure)):
        found = clash(*pair)
        assert found is not None
        assert found.rule == "germs"
        assert "no one has said whether Camarones is raw animal food" in found.words
    assert depth(unsure) == 2


def test_open_allergens_go_apart_where_allergens_do_and_are_told_of_where_not() -> None:
    berries, unsure, more = get("Blueberries, raw"), own("Nueces", False), own("Pan de trigo", False)
    for pair in ((berries, unsure), (unsure, more)):
        found = clash(*pair, rules=RULES)
        assert found is not None
        assert found.rule == "allergens"
    assert clash(unsure, unsure, RULES) is None
    assert any("allergens not stated: Nueces" in line for line in sharing([berries, unsure]))
    words = "may be raw animal food: x. Until you have asked whoever made it, treat it as raw"
    assert any(words in line for line in sharing([own("x"), own("x")]))


def _asked_as_yes_or_no(tree: ast.AST) -> list[ast.Attribute]:
    """Every ``.raw_animal`` whose truth decides something: there None would pass for False."""
    tests: list[ast.expr] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.If | ast.IfExp | ast.While | ast.Assert):
            tests.append(node.test)
        elif isinstance(node, ast.BoolOp):
            tests += node.values
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            tests.append(node.operand)
        elif isinstance(node, ast.comprehension):
            tests += node.ifs
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("any", "all", "bool"):
            tests += [part.elt if isinstance(part, ast.GeneratorExp) else part for part in node.args]
    return [test for test in tests if isinstance(test, ast.Attribute) and test.attr == "raw_animal"]


def test_no_code_takes_an_open_question_for_no() -> None:
    found = [
        f"{path.relative_to(SRC)}:{node.lineno}"
        for path in sorted(SRC.rglob("*.py"))
        for node in _asked_as_yes_or_no(ast.parse(path.read_text(encoding="utf-8")))
        if "migrations" not in path.parts
    ]
    assert found == []


def test_no_template_takes_an_open_question_for_no() -> None:
    asked = re.compile(r"{%\s*(if|elif)\b[^%]*\braw_animal\b(?!\|)")
    found = [path.name for path in sorted(SRC.rglob("*.html")) if asked.search(path.read_text(encoding="utf-8"))]
    assert found == []
