"""Commands that had another name: the old word still works and says the new one."""

import json
from pathlib import Path

import pytest
from tools.write_cli_docs import commands, help_of

from drystow.cli.app import RENAMED
from tests.cli.run import ROOT, drystow

PLANNING = ROOT / "examples" / "planning"
BASKETS = [PLANNING / name for name in ("saturday-basket.toml", "dinner-rush.toml")]
CALLS = {
    "schedule": (PLANNING / "under-way.toml", "--json", "--seconds", "0.5", "--workers", "1"),
    "program": (ROOT / "examples" / "berry-tray.toml", "--json", "--members", "20", "--steps", "1"),
}
"""A call of each old command."""


def test_every_old_name_has_a_call_here() -> None:
    assert CALLS.keys() == RENAMED.keys()


@pytest.mark.parametrize("old", CALLS)
def test_an_old_command_gives_the_answer_of_the_new_one_and_says_its_name(old: str) -> None:
    done = drystow(old, *CALLS[old])
    assert done.returncode == 0, done.stderr
    assert done.stderr.splitlines()[0] == f"'drystow {old}' is now called 'drystow {RENAMED[old]}'."
    now = drystow(RENAMED[old], *CALLS[old])
    assert now.stderr.strip() == ""
    assert json.loads(done.stdout) == json.loads(now.stdout)


@pytest.mark.parametrize("old", CALLS)
def test_help_pages_know_only_the_new_name(old: str) -> None:
    assert (old,) not in commands()
    assert f"Usage: drystow {RENAMED[old]} " in help_of(old)
    assert f"\n  {old} " not in help_of()


@pytest.mark.parametrize("path", BASKETS, ids=lambda path: path.stem)
@pytest.mark.parametrize("more", [(), ("--json",), ("--load", "load.toml"), ("--load=load.toml",), ("--members", "50")])
def test_a_basket_given_to_the_command_that_took_it_once_is_sent_to_best_load(
    path: Path, more: tuple[str, ...], tmp_path: Path
) -> None:
    for old in ("plan", "schedule"):
        done = drystow(old, path, *more, cwd=tmp_path)
        if old == "schedule" and more[:1] != ("--json",) and more:
            continue  # an option that this command never had
        assert done.returncode == 2
        told = done.stderr.splitlines()[-1]
        assert told.startswith("Error: ")
        assert "'drystow best-load'" in told
        assert len(done.stderr.splitlines()) == (1 if old == "plan" else 2)


def test_a_plan_file_given_to_best_load_is_sent_to_plan() -> None:
    done = drystow("best-load", PLANNING / "under-way.toml")
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert "'drystow plan'" in done.stderr
