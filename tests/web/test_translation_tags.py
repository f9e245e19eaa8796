"""Texts of templates and of Python have one kind of placeholder, and Django's tags fill it in."""

import ast
import re
from pathlib import Path
from unittest.mock import patch

import pytest
from django.template import Context, Template
from tools.write_catalogue import marked, marked_in

import drystow

SOURCE = Path(drystow.__file__).parent
COUNTED = (
    "{% load i18n %}{% blocktranslate count n=n with food=food %}{{ n }} tray of {{ food }}"
    "{% plural %}{{ n }} trays of {{ food }}, 50% {wet}{% endblocktranslate %}"
)
BY_DJANGO = {"value", "limit_value", "show_value"}
"""Values of Django's own checks of numbers and lengths, which it fills in with the percent operator."""


def rendered(template: str, **values: object) -> str:
    return Template(template).render(Context(values))


def test_a_text_with_values_is_filled_in_and_escaped() -> None:
    assert rendered(COUNTED, n=1, food="<b>kale</b>") == "1 tray of &lt;b&gt;kale&lt;/b&gt;"
    assert rendered(COUNTED, n=3, food="kale") == "3 trays of kale, 50% {wet}"
    kept = "{% load i18n %}{% blocktranslate asvar words %}of {{ food }}{% endblocktranslate %}[{{ words }}]"
    assert rendered(kept, food="a & b") == "[of a &amp; b]"
    assert rendered("{% load i18n %}{% blocktranslate %}no {{ value }}{% endblocktranslate %}") == "no "


def test_translators_see_the_text_that_the_tag_looks_up() -> None:
    found = marked_in("template", COUNTED)
    assert found == [("{n} tray of {food}", "{n} trays of {food}, 50% {{wet}}")]
    with patch("drystow.web.kit.templatetags.i18n.ngettext", return_value="{food}: {n}") as looked_up:
        assert rendered(COUNTED, n=2, food="kale") == "kale: 2"
    assert looked_up.call_args.args == (*found[0], 2)


@pytest.mark.parametrize("slip", ["{no} trays", "{food", "{0}"])
def test_a_slip_in_a_translation_shows_the_english(slip: str) -> None:
    with patch("drystow.web.kit.templatetags.i18n.ngettext", return_value=slip):
        assert rendered(COUNTED, n=1, food="kale") == "1 tray of kale"


def test_every_text_has_its_values_in_braces() -> None:
    found = {
        text for pair in marked() for text in pair for name in re.findall(r"%\((\w+)\)", text) if name not in BY_DJANGO
    }
    assert found == set()


def test_no_text_is_filled_in_with_the_percent_operator() -> None:
    """It would leave the braces as they are."""
    found = []
    for path in sorted((SOURCE / "web").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.AugAssign) and isinstance(node.op, ast.Mod):
                found.append(f"{path.name}:{node.lineno}")
            if (
                isinstance(node, ast.BinOp)
                and isinstance(node.op, ast.Mod)
                and not isinstance(node.right, ast.Constant)
            ):
                left, right = node.left, node.right
                named = isinstance(left, ast.Call) and isinstance(left.func, ast.Name)
                if named or isinstance(right, ast.Dict) or (isinstance(left, ast.Name) and left.id == "words"):
                    found.append(f"{path.name}:{node.lineno}")
    assert found == []


def test_a_plain_translate_tag_has_no_percent_sign_which_django_would_double() -> None:
    tag = re.compile(r"""\{% translate ("[^"]*%[^"]*"|'[^']*%[^']*')""")
    found = [path.name for path in SOURCE.rglob("*.html") if tag.search(path.read_text(encoding="utf-8"))]
    assert found == []
