"""The stored first help page is the real one, and every command is documented."""

from pathlib import Path

import pytest
from tools.write_cli_docs import HELP, commands, help_of

from tests.words_banned import banned_words

DOCS = Path(__file__).parents[2] / "docs" / "cli.md"


def test_the_stored_help_page_is_the_real_one() -> None:
    assert HELP.read_text(encoding="utf-8") == help_of()


def test_the_reference_has_no_word_that_the_list_replaces() -> None:
    assert list(banned_words(DOCS.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("words", [words for words in commands() if words], ids=" ".join)
def test_every_command_is_in_the_reference(words: tuple[str, ...]) -> None:
    assert f"## `drystow {' '.join(words)}`" in DOCS.read_text(encoding="utf-8")
