"""CONTRIBUTING.md names files and commands that are there."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
PATH = re.compile(r"`((?:[\w.-]+/)+[\w.-]*|[\w-]+\.(?:py|toml|md))`")
OF_NO_FILE = {"urls.py", "forms.py", "views/", "OTHER/src", "out/golden"}
"""What stands in each app, and folders that a command makes."""


def test_every_file_that_a_newcomer_is_sent_to_is_there() -> None:
    named = set(PATH.findall(TEXT)) - OF_NO_FILE
    assert len(named) > 25
    places = (ROOT, ROOT / "src" / "drystow")
    assert [name for name in sorted(named) if not any((place / name).exists() for place in places)] == []


def test_every_command_of_make_and_module_of_tools_is_there() -> None:
    targets = set(re.findall(r"^([\w-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    told = set(re.findall(r"`make ([\w-]+)`", TEXT))
    assert {"quick", "test"} <= told <= targets
    modules = set(re.findall(r"python -m ([\w.]+)", TEXT))
    paths = [ROOT.joinpath(*module.split(".")) for module in modules]
    assert [path for path in paths if not (path.with_suffix(".py").exists() or (path / "__main__.py").exists())] == []


def test_each_addition_is_described() -> None:
    told = re.findall(r"^- \*\*An? ([\w ]+)\*\*", TEXT, re.MULTILINE)
    assert told == [
        "class of food",
        "kind of food",
        "container",
        "chart",
        "signal of dryness",
        "page",
        "form of a record",
        "constant",
        "published run",
        "answer that takes longer than a page may",
        "language",
    ]
