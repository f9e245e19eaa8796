"""Numbers are written one way everywhere: a percent sign apart from its number, a unit once in a range.

The SI asks for the space (BIPM, SI brochure, 5.4.7; memory). A nutrition label prints its daily values without one, as
the law shows them, so that module writes its own.
"""

import re
from pathlib import Path

import pytest

import drystow
from drystow.said import ends, say, told
from drystow.shown import percent, show

ENGINE = Path(drystow.__file__).parent
AS_THE_LAW_SHOWS = {"nutrition.py"}
TEMPLATES = sorted(ENGINE.rglob("templates/**/*.html"))
FILES = [path for path in sorted(ENGINE.rglob("*.py")) if path.name not in AS_THE_LAW_SHOWS]
TIGHT = re.compile(r"(\d|\}\})%(?![}(])")
SHARE = re.compile(r"\{[^{}]*:[^{}]*%\}")  # "{share:.0%}", which only `say` sets apart


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_writes_a_percent_sign_at_its_number(path: Path) -> None:
    assert not TIGHT.search(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: "/".join(path.parts[-2:]))
def test_no_sentence_writes_a_percent_sign_at_its_number(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    strings = re.findall(r'f"[^"\n]*"', text)
    assert not [one for one in strings if SHARE.search(one)], "use drystow.shown.percent"
    assert not re.findall(r'"[^"\n]*\d%(?!\})[^"\n]*"', text)


def test_a_share_is_told_with_its_sign_apart_in_every_language() -> None:
    sentence = say("{share:.1%} of {whole}", share=0.032, whole=say("{water:.0%} water", water=0.84))
    assert sentence == "3.2 % of 84 % water"
    spanish = {
        "{share:.1%} of {whole}": "{share:.1%} de {whole}",
        "{water:.0%} water": "{water:.0%} de agua",
        "1.5": "1,5",
    }
    assert told(sentence, lambda text: spanish.get(text, text)) == "3,2 % de 84 % de agua"
    assert (percent(0.62), show(0.03, "fraction")) == ("62 %", "3.0 %")


def test_a_range_names_its_unit_once_where_both_ends_have_the_same() -> None:
    assert ends("-20 °C", "-15.5 °C") == ("-20", "-15.5 °C")
    assert ends(say("{number} {unit}", number="1.0", unit="%"), "3.0 %") == ("1.0", "3.0 %")
    assert ends("1 year", "25 years") == ("1 year", "25 years")
    assert ends("20 h", "never") == ("20 h", "never")
