"""What people read after a mistake in a file or a command: the field, what to write, no replaced word."""

import gettext
import re
import shlex
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tools.write_catalogue import CATALOGUE
from typer.testing import CliRunner

from drystow.cli.app import app
from drystow.cli.output import problem_here
from drystow.errors import DrystowError, InputErrors
from drystow.evidence.dryness.batch_file import parse_batch
from drystow.machine.loadfile import parse_load
from drystow.messages import Reader, told
from drystow.packing.packfile import parse_pack
from drystow.planning.load.basket import parse_basket
from drystow.planning.schedule.plan_file import parse_lots
from drystow.planning.season.garden_file import parse_garden
from tests.error_cases import ADVICE, COMMANDS, FILES
from tests.words_banned import banned_words

ROOT = Path(__file__).parent.parent
READ: dict[str, Callable[[str], Any]] = {
    "load": lambda text: parse_load(tomllib.loads(text)),
    "batch": lambda text: parse_batch(tomllib.loads(text), ROOT / "examples" / "dryness"),
    "pack": parse_pack,
    "basket": lambda text: parse_basket(tomllib.loads(text)),
    "plan": lambda text: parse_lots(tomllib.loads(text)),
    "garden": lambda text: parse_garden(tomllib.loads(text)),
}
with CATALOGUE.with_suffix(".mo").open("rb") as _file:
    SPANISH = Reader(gettext.GNUTranslations(_file).gettext, "si")


@pytest.mark.parametrize(("example", "here", "instead", "field"), FILES)
def test_an_error_about_a_file_names_the_field_and_what_to_write(
    example: str, here: str, instead: str, field: str
) -> None:
    kind, _, name = example.partition(" ")
    text = (ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8")
    assert here in text
    with pytest.raises(InputErrors) as raised:
        READ[kind](text.replace(here, instead, 1))
    assert raised.value.problems[0].field == field
    assert len(raised.value.problems) <= 6
    for problem in raised.value.problems:
        for language, words in (("en", problem.message), ("es", told(problem.message, SPANISH))):
            assert list(banned_words(re.sub(r"'[^']*'|«[^»]*»", "", words), language)) == []
            assert re.search(ADVICE[language], words), words
        assert told(problem.message, SPANISH) != problem.message


@pytest.mark.parametrize(("line", "named"), COMMANDS)
def test_an_error_of_a_command_names_what_is_wrong(line: str, named: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    answer = CliRunner(env={"COLUMNS": "200", "NO_COLOR": "1"}).invoke(app, shlex.split(line))
    assert answer.exit_code != 0
    words = answer.output + answer.stderr
    if isinstance(answer.exception, DrystowError):
        words += "\n".join(problem_here(problem) for problem in answer.exception.problems)
    assert named in words
    assert list(banned_words(words)) == []
    assert re.search(ADVICE["en"], words), words
