"""Sentences keep their pattern on their way through the engine, and every sentence of the engine has one."""

import ast
import copy
import dataclasses
import json
import pickle
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

import drystow
from drystow.errors import InputError, check_range, unknown
from drystow.machine.result import Event
from drystow.messages import Message, Reader, listed, msg, msg_many, told
from drystow.serving.cautions import COOKING_TARGETS
from drystow.shown import DISPLAY, PATTERNS, both
from drystow.units import KINDS, parse

ENGINE = Path(drystow.__file__).parent
EDGES = {"web", "cli", "reports"}  # they have their own ways to translate
FILES = [
    path
    for path in sorted(ENGINE.rglob("*.py"))
    if path.relative_to(ENGINE).parts[0] not in EDGES
    and path.name not in ("__init__.py", "constants.py", "messages.py")
]
SPANISH = {
    "{food} still holds {water:.1%} moisture": "{water:.1%} de agua queda en {food}",
    "stopped: {state}; {advice}": "detenido: {state}; {advice}",
    "warm the shelf": "caliente la bandeja",
    "{value:g} {unit} is out of range; use {low:g} to {high:g} {unit}": (
        "{value:g} {unit} no está en {low:g} a {high:g} {unit}"
    ),
    "{problem}; {hint}": "{problem}; {hint}",
    "is it in °C?": "¿está en °C?",
    "no food is called '{word}'": "«{word}» no existe",
    "Escherichia coli, pathogenic": "Escherichia coli patógena",
    "Vibrio parahaemolyticus": "Vibrio parahaemolyticus",
}
WORDS = re.compile(r"(^|\s)[a-z]{2,}($|[\s,;:.!?])", re.IGNORECASE)
DATA = {
    "unit_table.py",
    "search.py",
    "table.py",
    "classify.py",
    "separation.py",
}  # words of names of foods, columns of the source
PLACES_IN_TABLES = {"heat", "bath"}
"""Quantities in the texts of data files."""
NAMES = {  # what programs compare with; pages translate the ones that they show
    *KINDS,
    *DISPLAY,
    *PATTERNS,
    *(target.kind for target in COOKING_TARGETS),
    "at least",
    "class default",
    "common practice",
    "household freezer",
    "not known",
    "not stated",
    "until dry",
    "with care",
    "Strawberries, raw",  # written quantities and names of loads that the program makes itself
    "-10 degC for 2 h",
    "40 degC until dry",
    "0.5 mm",
    "1 kg",
    "-//Drystow//Plan of batches//EN",
    "mTorr = 0.133322368 * pascal",
}


def spanish(text: str) -> str:
    return SPANISH.get(text, text)


def nested() -> Message:
    state = msg("{food} still holds {water:.1%} moisture", food="Apples, raw", water=0.062)
    return msg("stopped: {state}; {advice}", state=state, advice=msg("warm the shelf"))


def test_a_said_sentence_is_an_ordinary_english_text() -> None:
    sentence = nested()
    assert sentence == "stopped: Apples, raw still holds 6.2% moisture; warm the shelf"
    assert json.loads(json.dumps({"text": sentence})) == {"text": str(sentence)}
    assert {sentence: 1}[str(sentence)] == 1
    assert repr(sentence) == repr(str(sentence))


def test_nested_sentences_are_told_in_another_language() -> None:
    assert told(nested(), spanish) == "detenido: 6.2% de agua queda en Apples, raw; caliente la bandeja"


@pytest.mark.parametrize(
    "copied",
    [
        pytest.param(lambda text: pickle.loads(pickle.dumps(text)), id="pickle"),
        pytest.param(copy.deepcopy, id="deepcopy"),
        pytest.param(copy.copy, id="copy"),
        pytest.param(lambda text: dataclasses.replace(Event(0.0, "dry", None, text), time=1.0).text, id="replace"),
        pytest.param(lambda text: InputError("food", text).message, id="error"),
        pytest.param(lambda text: InputError("food", text).under("tray[1]").message, id="under"),
    ],
)
def test_a_copy_keeps_the_pattern_and_the_values(copied) -> None:  # type: ignore[no-untyped-def]
    sentence = copied(nested())
    assert sentence == nested()
    assert told(sentence, spanish) == told(nested(), spanish)


def test_listed_words_are_told_one_by_one() -> None:
    germs = listed([msg("Vibrio parahaemolyticus"), msg("Escherichia coli, pathogenic")])
    assert germs == "Vibrio parahaemolyticus, Escherichia coli, pathogenic"
    assert told(germs, spanish) == "Vibrio parahaemolyticus, Escherichia coli patógena"


def test_braces_of_a_person_stay_braces() -> None:
    error = unknown("food", "{0} {x}", ["apple"], msg("food"))
    assert error.message == "there is no food called '{0} {x}'; closest: 'apple'"
    assert told(error.message, lambda text: text) == error.message


def test_line_ends_in_a_value_do_not_reach_the_sentence_or_its_translation() -> None:
    error = InputError("food", msg("no food is called '{word}'", word="a\nb"))
    assert error.message == "no food is called 'a b'"
    assert told(error.message, spanish) == "«a b» no existe"


def test_a_range_names_the_value_and_the_hint_in_another_language() -> None:
    with pytest.raises(InputError) as caught:
        check_range("temperature", 4.0, 233, 333, "K", hint=msg("is it in °C?"))
    assert caught.value.message == "4 K is out of range; use 233 to 333 K; is it in °C?"
    assert told(caught.value.message, spanish) == "4 K no está en 233 a 333 K; ¿está en °C?"


@pytest.mark.parametrize(
    ("unit", "above", "sentence"),
    [
        ("kg", False, "7 kg is out of range; use 0 to 1 kg"),
        ("kg", True, "7 kg is out of range; use more than 0 and at most 1 kg"),
        ("", False, "7 is out of range; use 0 to 1"),
        ("", True, "7 is out of range; use more than 0 and at most 1"),
    ],
)
def test_a_range_without_a_hint(unit: str, above: bool, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        check_range("mass", 7.0, 0, 1, unit, above=above)
    assert caught.value.message == sentence


def test_the_word_for_a_quantity_is_said() -> None:
    with pytest.raises(InputError) as caught:
        parse("5 kg", "time", "keep_for")
    message = caught.value.message
    assert isinstance(message, Message)
    assert isinstance(message.values["kind"], Message)
    assert both(250.15, "temperature") == "−23 °C (−9 °F)"


# -- a law: every sentence of the engine is said -----------------------------------------------------------------------


def unsaid(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield line and text of every literal that reads like words and is not the pattern of a said sentence."""
    skipped = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)  # docstrings
    }
    for call in said_calls(tree):
        skipped |= {id(node) for pattern in patterns(call) for node in ast.walk(pattern)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            text = node.value.strip()
            if " " in text and WORDS.search(text) and text not in NAMES:
                yield node.lineno, node.value


SAYERS = {"msg": 1, "msg_many": 2}
"""What says a sentence, and how many patterns it takes."""


def patterns(call: ast.Call) -> list[ast.expr]:
    assert isinstance(call.func, ast.Name)
    return call.args[: SAYERS[call.func.id]]


def said_calls(tree: ast.Module) -> list[ast.Call]:
    return [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAYERS
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_sentence_is_said(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [] if path.name in DATA else list(unsaid(tree))
    assert not found, f"msg() these, so that they can be translated: {found}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_no_error_is_made_of_a_bare_text(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = [
        call.lineno
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
        and (ast.unparse(call.func) == "InputError" or ast.unparse(call.func).endswith(".problem"))
        and isinstance(call.args[1], ast.JoinedStr | ast.Constant | ast.BinOp)
    ]
    assert not bare, f"msg() the message in lines {bare}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_patterns_and_their_values_fit(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for call in said_calls(tree):
        given = {word.arg for word in call.keywords}
        if not all(isinstance(pattern, ast.Constant) for pattern in patterns(call)):
            # a text of a data file or the name of a class has no places; errors clean the values of a sentence
            assert given <= {None, *PLACES_IN_TABLES}, f"line {call.lineno}: the pattern has to be a literal"
            continue
        places = {
            name
            for pattern in patterns(call)
            for _, name, _, _ in string.Formatter().parse(ast.literal_eval(pattern))
            if name is not None
        }
        given |= {"count"} if len(patterns(call)) > 1 else set()
        fits = given - {None} <= places if None in given else given == places  # None: values given by **
        assert fits, f"line {call.lineno}: {places} against {given}"


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_said_sentences_are_not_glued(path: Path) -> None:
    """A sum or an f-string of said sentences would be an ordinary text."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    said = {id(call) for call in said_calls(tree)}
    for node in ast.walk(tree):
        parts = [node.left, node.right] if isinstance(node, ast.BinOp) else []
        parts += [node.value] if isinstance(node, ast.FormattedValue) else []
        assert not any(id(part) in said for part in parts), f"line {node.lineno}"


def test_a_number_that_has_digit_groups_is_not_changed_on_its_way() -> None:
    spanish = {"1,000.5%": "1.000,5 %"}
    told_ones = [told(text, lambda text: spanish.get(text, text)) for text in ("1.500,5 g", "3.5, 4.25", "1,234.5 g")]
    assert told_ones == ["1.500,5 g", "3,5, 4,25", "1,234.5 g"]


def test_one_of_something_is_told_in_the_singular_in_every_language() -> None:
    spanish = {"{count} tray": "{count} bandeja", "{count} trays": "{count} bandejas"}
    for count, english, other in (
        (1, "1 tray", "1 bandeja"),
        (0, "0 trays", "0 bandejas"),
        (2, "2 trays", "2 bandejas"),
    ):
        sentence = msg_many("{count} tray", "{count} trays", count)
        assert (sentence, told(sentence, lambda text: spanish.get(text, text))) == (english, other)


def three_forms(one: str, many: str, count: int) -> str:
    """The rule of a language with a form for one, one for a few and one for more."""
    form = 0 if count == 1 else 1 if 2 <= count % 10 <= 4 and not 12 <= count % 100 <= 14 else 2
    return {("{count} tray", "{count} trays"): ("{count} taca", "{count} tace", "{count} tac")}[one, many][form]


@pytest.mark.parametrize(
    ("count", "words"),
    [(0, "0 tac"), (1, "1 taca"), (3, "3 tace"), (5, "5 tac"), (12, "12 tac"), (22, "22 tace"), (1.0, "1 taca")],
)
def test_the_language_chooses_among_the_forms_of_a_number_by_its_own_rule(count: float, words: str) -> None:
    sentence = msg_many("{count} tray", "{count} trays", count)
    reader = Reader(choose=three_forms)
    copied = (sentence, pickle.loads(pickle.dumps(sentence)), InputError("", sentence).under("tray").message)
    assert [told(one, reader) for one in copied] == [words] * 3
    assert told(msg("only {trays}", trays=sentence), Reader.of(reader, "us")) == f"only {words}"


def test_a_fraction_of_a_thing_is_many() -> None:
    assert [Reader(choose=three_forms).counted("{count} tray", "{count} trays", count) for count in (0.5, 1.5)] == [
        "{count} tace"
    ] * 2
    assert msg_many("{count} tray", "{count} trays", 0.5) == "0.5 trays"
