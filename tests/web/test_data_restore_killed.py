"""A restore that is killed at any moment is, after the next start, either complete or as if it had never begun."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from tests.patience import PATIENCE
from tests.web.kitchen import ROOT

OLD, NEW = (["old", "photos/old.jpg", "photos/old.jpg"], ["new", "photos/new.jpg", "photos/new.jpg"])


@contextmanager
def own_database(name: str) -> Iterator[dict[str, str]]:
    """Give the environment of a PostgreSQL database of its own, where the tests run on one."""
    url = os.environ.get("DATABASE_URL", "")
    if not url:
        yield {}
        return
    import psycopg

    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'CREATE DATABASE "{name}"')
        yield {"DATABASE_URL": url.rsplit("/", 1)[0] + f"/{name}"}
        server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("killed")
    usual = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    with own_database(f"killed_restores_{os.getpid()}") as database:
        done = subprocess.run(
            [sys.executable, "-m", "tests.web.killed_restores"],
            env=usual | database | {"DRYSTOW_DATA": str(folder / "data"), "PYTHONPATH": f"{ROOT}:{ROOT / 'src'}"},
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=PATIENCE * 4,
            check=False,
        )
    assert done.returncode == 0, done.stderr[-3000:]
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_a_kill_before_any_step_leaves_all_old_or_all_new(told: dict[str, Any]) -> None:
    for number, what, *kitchen in told["looks"]:
        assert kitchen in (OLD, NEW), f"killed before step {number}, {what}"
    states = [kitchen[0] for _number, _what, *kitchen in told["looks"]]
    assert states == sorted(states, reverse=True)  # old up to the commit, new from there on
    assert {"old", "new"} == set(states)


def test_a_kill_before_any_step_of_the_settling_changes_nothing_about_that(told: dict[str, Any]) -> None:
    assert len(told["settled_twice"]) > 10
    for number, again, *kitchen in told["settled_twice"]:
        assert kitchen in (OLD, NEW), f"killed before step {number}, settling killed before its step {again}"


def test_the_kills_were_before_steps_of_every_sort(told: dict[str, Any]) -> None:
    tried = {what for _number, what, *_house in told["looks"]}
    assert tried == set(told["steps"]) >= {"open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "sql", "commit"}
    assert sum(what != "sql" for what in told["steps"]) <= len(told["looks"])
