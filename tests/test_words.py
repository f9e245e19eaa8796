"""Every English text keeps the voice of `docs/words.md`: its words, its sentences, its numbers, its reading grade."""

import re
from collections.abc import Iterator
from typing import Any

import textstat
import typer
from tools.write_catalogue import ENGINE, marked, marked_in, read

from drystow.cli.app import app
from drystow.sources import bibliography
from tests.words_banned import banned_words


def _helps(command: Any) -> Iterator[str]:
    """Every help text of the command line: of commands, of their options, and of commands below them."""
    yield command.help or ""
    yield from (getattr(option, "help", None) or "" for option in command.params)
    for below in getattr(command, "commands", {}).values():
        if not below.hidden:
            yield from _helps(below)


PAGES = sorted({text for pair in marked() for text in pair if text})
HELP = sorted({" ".join(text.split()) for text in _helps(typer.main.get_command(app)) if text})
TEXTS = [*PAGES, *HELP]
LONGEST = 25  # words in a sentence
GRADE = 7.0  # of school, of whole sentences on pages; the Automated Readability Index of textstat needs no word list
RAW_MARK = re.compile(r"(may be )?raw – cook( before eating)?$", re.IGNORECASE)
"""The mark on a label, which is no sentence."""
PLACEHOLDER = re.compile(r"%\(\w+\)[sd]|\{[^{}]*\}|<[^>]+>")


def _sentences(text: str, filled: str = "X") -> Iterator[str]:
    for part in re.split(r"(?<=[.!?])\s+(?=[A-Z“%{])|\n", PLACEHOLDER.sub(filled, text)):
        if part.strip():
            yield part.strip()


def test_no_text_has_a_word_that_the_list_replaces() -> None:
    found = {text: hits for text in TEXTS if (hits := list(banned_words(PLACEHOLDER.sub("X", text))))}
    assert found == {}


def test_no_spanish_text_has_a_word_that_the_list_replaces() -> None:
    texts = [text for known in read().values() for text in known]
    assert len(texts) > 3000
    found = {text: hits for text in texts if (hits := list(banned_words(PLACEHOLDER.sub("X", text), "es")))}
    assert found == {}


def test_a_source_has_no_such_word_but_in_the_title_of_a_publication() -> None:
    found = {source.key: hits for source in bibliography().values() if (hits := list(banned_words(source.text)))}
    assert found == {}


def test_a_blank_field_is_called_blank() -> None:
    assert [text for text in TEXTS if re.search(r"\b(Empty|Blank):", text)] == []


def test_a_sentence_has_one_semicolon_at_most() -> None:
    assert [one for text in TEXTS for one in _sentences(text) if one.count(";") > 1] == []


READERS = re.compile(
    r"^cli/|file\.py$|^web/data/loads\.py$|^fields\.py$|^planning/(load/basket|hours)\.py$|^reports/(sheets|package_plan)\.py$"
)
"""Files whose sentences answer to somebody who wrote a file or a command: they name its fields."""

KEY = re.compile(r"(?<![\w/.])[a-z]+_[a-z_]+\b|(?<!\w)--[a-z]|\[\[|\bmembers?\b|\bdrystow (?!listen)[a-z]")
"""A key of a file, an option or a command; `drystow listen` is what a person with sensors has to run."""


def _said_to_readers() -> Iterator[str]:
    for path in sorted(ENGINE.rglob("*")):
        if READERS.search(path.relative_to(ENGINE).as_posix()) or "migrations" in path.parts:
            continue
        if path.suffix == ".py":
            yield from (text for pair in marked_in("python", path.read_text(encoding="utf-8")) for text in pair)
        elif path.suffix in (".html", ".txt"):
            yield from (text for pair in marked_in("template", path.read_text(encoding="utf-8")) for text in pair)


def test_pages_never_name_a_key_of_a_file_or_an_option_of_a_command() -> None:
    """All that the web says itself and what the engine says of a result; errors about a file may name its fields."""
    texts = [PLACEHOLDER.sub("X", text) for text in _said_to_readers() if text]
    assert len(texts) > 2000
    assert [text for text in texts if KEY.search(text)] == []


def test_no_dash_glues_a_sentence_together() -> None:
    glued = re.compile(r"\s[–—]\s|\w—\w|^[–—] ")
    assert [text for text in TEXTS if glued.search(text) and not RAW_MARK.match(text)] == []


def test_no_sentence_is_longer_than_a_breath() -> None:
    long = {one: count for text in TEXTS for one in _sentences(text) if (count := len(one.split())) > LONGEST}
    assert long == {}


def test_a_percent_sign_stands_at_its_number() -> None:
    assert [text for text in TEXTS if re.search(r"(\d|\)s|\}) %(?![(\w])", text)] == []


def test_pages_read_at_the_grade_of_a_twelve_year_old() -> None:
    whole = [one for text in PAGES for one in _sentences(text, "apples") if len(one.split()) >= 6 and one.endswith(".")]
    grade = textstat.automated_readability_index(" ".join(whole))
    print(f"reading grade of {len(whole)} sentences on pages: {grade:.1f}")
    assert len(whole) > 500
    assert grade <= GRADE
