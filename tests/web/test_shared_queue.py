"""Several processes share a PostgreSQL database: nothing is worked out twice, and no job is lost with its process."""

import os
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import connection

from drystow.web.kit import background
from drystow.web.kit.models import Answer
from tests.patience import until
from tests.web.two_at_once import real_database

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "tests" / "web" / "shared_queue.py"
pytestmark = pytest.mark.skipif("DATABASE_URL" not in os.environ, reason="only PostgreSQL is shared by processes")


def environment(folder: Path) -> dict[str, str]:
    server, _slash, _name = os.environ["DATABASE_URL"].rpartition("/")
    name = connection.settings_dict["NAME"]
    paths = f"{ROOT / 'src'}:{ROOT}"
    return os.environ | {"DATABASE_URL": f"{server}/{name}", "DRYSTOW_DATA": str(folder), "PYTHONPATH": paths}


def ask(folder: Path, *numbers: int) -> None:
    words = [sys.executable, str(SCRIPT), "ask", str(folder), *map(str, numbers)]
    subprocess.run(words, env=environment(folder), check=True)


@pytest.fixture
def clean_rows(database: None) -> None:
    """Rows are committed, so that other processes see them."""


@pytest.fixture
def workers(tmp_path: Path) -> Iterator[list[subprocess.Popen[str]]]:
    with real_database(tmp_path):
        words = [sys.executable, str(SCRIPT), "work", str(tmp_path)]
        begun = [
            subprocess.Popen(words, env=environment(tmp_path), stdout=subprocess.PIPE, text=True)
            for _number in range(2)
        ]
        try:
            for one in begun:
                assert one.stdout is not None
                assert one.stdout.readline() == "works\n"
            yield begun
        finally:
            for one in begun:
                one.kill()
                one.wait()
            with connection.cursor() as cursor:
                cursor.execute("TRUNCATE procrastinate_jobs, procrastinate_workers CASCADE")


def done(folder: Path) -> Counter[str]:
    """How often each job was done."""
    return Counter(path.name.split()[1] for path in folder.glob("done *"))


def test_each_job_is_done_once_by_whichever_process_is_free(
    workers: list[subprocess.Popen[str]], tmp_path: Path
) -> None:
    ask(tmp_path, *range(1, 13))
    until(lambda: len(done(tmp_path)) == 12)
    assert set(done(tmp_path).values()) == {1}
    by = {path.name.split()[2] for path in tmp_path.glob("done *")}
    assert by == {str(one.pid) for one in workers}


def test_the_job_of_a_process_that_was_killed_is_taken_up_by_another(
    workers: list[subprocess.Popen[str]], tmp_path: Path
) -> None:
    ask(tmp_path, 99)
    until(lambda: list(tmp_path.glob("begun *")))
    (begun,) = tmp_path.glob("begun *")
    killed = int(begun.name.split()[1])
    assert killed in {one.pid for one in workers}
    os.kill(killed, signal.SIGKILL)
    ask(tmp_path, 99)  # it is at work, as far as anybody knows
    until(lambda: done(tmp_path)["99"])
    by = [path.name.split()[2] for path in tmp_path.glob("done *")]
    assert by == [str(one.pid) for one in workers if one.pid != killed]


def test_how_far_a_job_was_the_last_time_is_not_how_far_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from drystow.web.kit.postgres_queue import Tasks

    seen: list[float] = []
    with real_database(tmp_path):
        row = Answer.objects.create(kind="test", subject=1, progress=0.97)

        def work(pk: int) -> None:
            seen.append(Answer.objects.get(pk=row.pk).progress)

        monkeypatch.setitem(background.TASKS, "test", background.BackgroundTask("test", work, "seconds"))
        Tasks()._do(None, "test", 1)  # type: ignore[arg-type]
    assert seen == [0.0]
