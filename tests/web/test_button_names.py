"""A name on a page stands for one thing to do: a link that only leads further down has another name than a button."""

import re
from pathlib import Path

import pytest

import drystow

CONTROL = re.compile(r"<(a|button)\b((?:\{%.*?%\}|\{\{.*?\}\}|[^>])*)>((?:(?!</\1>).)*)</\1>", re.DOTALL)


def names_of(page: str) -> tuple[set[str], set[str]]:
    """The names of the links within the page, and those of its buttons."""
    controls = [(kind, inside, words.strip()) for kind, inside, words in CONTROL.findall(page)]
    jumps = {words for kind, inside, words in controls if kind == "a" and 'href="#' in inside}
    return jumps, {words for kind, _inside, words in controls if kind == "button"}


@pytest.mark.parametrize(
    "path", sorted(Path(drystow.__file__).parent.rglob("templates/**/*.html")), ids=lambda path: path.name
)
def test_no_link_further_down_is_named_like_a_button(path: Path) -> None:
    jumps, buttons = names_of(path.read_text(encoding="utf-8"))
    assert not jumps & buttons


def test_a_link_named_like_a_button_is_seen() -> None:
    link = '<a class="button" href="#end">{% translate "End it" %}</a>'
    jumps, buttons = names_of(link + '<button{% if a > b %} x{% endif %}>{% translate "End it" %}</button>')
    assert jumps == buttons == {'{% translate "End it" %}'}
