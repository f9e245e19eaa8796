"""The stored first help page is the real one, and every command is documented."""

from pathlib import Path

import pytest
from tools.write_cli_docs import HELP, commands, help_of

DOCS = Path(__file__).parents[2] / "docs" / "cli.md"


def test_the_stored_help_page_is_the_real_one() -> None:
    assert HELP.read_text(encoding="utf-8") == help_of()


@pytest.mark.parametrize("words", [words for words in commands() if words], ids=" ".join)
def test_every_command_is_in_the_reference(words: tuple[str, ...]) -> None:
    assert f"## `drystow {' '.join(words)}`" in DOCS.read_text(encoding="utf-8")
