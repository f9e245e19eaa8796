"""Every command that a page or an example shows runs as it is shown; new ones are found by themselves."""

import os
import re
import shlex
import shutil
import signal
import socket
import subprocess
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from drystow import __version__
from tests.cli.run import COMMAND, ROOT, drystow
from tests.patience import PATIENCE, until

PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
EXAMPLES = sorted(path for path in (ROOT / "examples").rglob("*") if path.is_file())
SHOWN = re.compile(r"^(?:# )?\$ (drystow .+)$", re.MULTILINE)

SHORTER = {"plan": ("--seconds", "1"), "season": ("--rounds", "1")}
"""What ends a search early: here nobody asks how good its answer is."""


def shown(path: Path) -> list[tuple[str, ...]]:
    """Every command that a file shows behind a dollar sign, without its comment, in words."""
    return [tuple(shlex.split(line, comments=True)[1:]) for line in SHOWN.findall(path.read_text(encoding="utf-8"))]


def commands() -> list[tuple[str, ...]]:
    """Every command shown anywhere, once."""
    return list(dict.fromkeys(words for path in (*PAGES, *EXAMPLES) for words in shown(path)))


def test_the_version_is_told() -> None:
    for words in (("--version",), ("version",)):
        answer = drystow(*words)
        assert (answer.returncode, answer.stdout.strip()) == (0, __version__)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_says_the_command_that_it_is_for(path: Path) -> None:
    name = str(path.relative_to(ROOT))
    assert any(name in words for words in shown(path)), f"begin {name} with a line '# $ drystow ... {name}'"


def test_examples_and_pages_show_commands() -> None:
    found = {words[0] for words in commands()}
    assert found >= {
        "simulate",
        "dryness",
        "pack",
        "label",
        "best-load",
        "plan",
        "season",
        "rehydrate",
        "food",
        "serve",
    }


@pytest.mark.parametrize("words", [words for words in commands() if words[0] != "serve"], ids=" ".join)
def test_a_documented_command_runs_as_it_is_shown(words: tuple[str, ...], tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    shorter = SHORTER.get(words[0], ())
    answer = drystow(*words, *(() if set(shorter) & set(words) else shorter), cwd=tmp_path)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.strip()
    for word in words:
        if word.endswith(".pdf"):
            assert (tmp_path / word).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("words", [words for words in commands() if words[0] == "serve"], ids=" ".join)
def test_a_documented_server_starts_answers_and_stops(words: tuple[str, ...], tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = os.environ | {"DRYSTOW_DATA": str(tmp_path)}
    with subprocess.Popen(
        [COMMAND, *words, "--port", str(port)],
        env=environment,
        stdout=subprocess.DEVNULL,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a job in the background ignores it
    ) as server:
        try:
            until(lambda: answers(f"http://127.0.0.1:{port}/"))
            server.send_signal(signal.SIGINT)
            server.wait(PATIENCE)
        finally:
            server.kill()


def answers(address: str) -> bool:
    """Say whether a page comes."""
    try:
        with urlopen(address, timeout=PATIENCE) as page:
            return bool(page.status == 200)
    except (URLError, ConnectionError, TimeoutError):
        return False
