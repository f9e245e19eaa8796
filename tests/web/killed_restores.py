"""Restores that are killed before each thing that they do, then settled; run as a program of its own.

What they do is not listed anywhere: an audit hook of Python and a wrapper of the database count every file that is
written, renamed or removed, every statement and every commit, so that no step can be forgotten.
"""

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

FILE_EVENTS = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate"}
WRITING = os.O_WRONLY | os.O_RDWR
FEW = 7
"""Of the statements between the first and the last one each so-manieth is tried."""


class Counter:
    """Counts what this process does from now on, and kills it before a certain one."""

    def __init__(self, kill_before: int = 0) -> None:
        from django.conf import settings
        from django.db import connection

        self.kill_before, self.done, self.busy = kill_before, [], False  # type: ignore[var-annotated]
        self.folder = str(settings.DATA_FOLDER)
        sys.addaudithook(self.audit)
        connection.ensure_connection()
        connection.execute_wrappers.append(self.statement)
        commit = connection._commit
        connection._commit = lambda: (self.count("commit"), commit())[1]

    def audit(self, event: str, values: tuple[Any, ...]) -> None:
        """Count a file that is written, renamed or removed in the data folder."""
        path = str(values[0]) if values else ""
        if self.busy or (path.startswith("/") and not path.startswith(self.folder)):
            return  # elsewhere; within a folder that is being removed, names stand alone
        if event in FILE_EVENTS or (event == "open" and isinstance(values[2], int) and values[2] & WRITING):
            self.count(event)

    def statement(self, execute: Callable[..., Any], sql: str, *rest: Any) -> Any:
        """Count a statement."""
        if not sql.lstrip().startswith(("SELECT", "PRAGMA")):
            self.count("sql")
        return execute(sql, *rest)

    def count(self, what: str) -> None:
        """Count one thing, or be killed before it."""
        self.done.append(what)
        if len(self.done) == self.kill_before:
            os.kill(os.getpid(), signal.SIGKILL)


def apart(work: Callable[[], object]) -> bool:
    """Do something in a process of its own and return whether it was killed; any other failure ends everything."""
    from django.db import connection

    connection.close()
    child = os.fork()
    if not child:
        try:
            work()
            os._exit(0)
        except BaseException:
            import traceback

            traceback.print_exc()
            os._exit(1)
    status = os.waitpid(child, 0)[1]
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise SystemExit("a process failed")
    return os.WIFSIGNALED(status)


class Kitchen:
    """A kitchen with one photo, and a backup of it when it looked otherwise."""

    def __init__(self) -> None:
        from django.conf import settings

        self.folder, self.media = Path(settings.DATA_FOLDER), Path(settings.MEDIA_ROOT)
        self.backup = self.folder.parent / "new.zip"

    def make(self) -> None:
        """Write the backup of the new state, then the old state."""
        from django.utils import timezone

        from drystow.web.batches.models import Batch, Happening
        from drystow.web.data.backup import write_backup
        from drystow.web.dryers.models import Dryer
        from drystow.web.kit import records

        dryer = records.create(Dryer(name="old", profile="bench-4"))
        batch = records.create(Batch(lot="A", title="Peas", dryer=dryer, program=[{"shelf_c": 40.0, "hours": None}]))
        records.create(Happening(batch=batch, kind="photo", at=timezone.now(), photo="photos/old.jpg"))
        self.set("new")
        with self.backup.open("wb") as file:
            write_backup(file)
        self.set("old")

    def set(self, state: str) -> None:
        """Bring rows and photos into a state."""
        from drystow.web.batches.models import Happening
        from drystow.web.data.models import RestoreMark
        from drystow.web.dryers.models import Dryer

        RestoreMark.objects.all().delete()
        Dryer.objects.update(name=state)
        Happening.objects.update(photo=f"photos/{state}.jpg")
        shutil.rmtree(self.media, ignore_errors=True)
        (self.media / "photos").mkdir(parents=True)
        (self.media / "photos" / f"{state}.jpg").write_text(state)
        for kept in self.folder.glob("before-restore-*"):
            kept.unlink()

    def restore(self) -> None:
        """Read the backup in."""
        from drystow.web.data.restore import restore_backup

        with self.backup.open("rb") as file:
            restore_backup(file, replace=True)

    def look(self) -> list[str]:
        """Return the state of the rows, the name that they give the photo, the photos, and what was left behind."""
        from drystow.web.batches.models import Happening
        from drystow.web.dryers.models import Dryer

        photos = sorted(str(path.relative_to(self.media)) for path in self.media.rglob("*") if path.is_file())
        left = [
            path.name
            for path in self.folder.iterdir()
            if path.name.startswith((".", "restore")) or ".part" in path.name
        ]
        return [Dryer.objects.get().name, Happening.objects.get().photo.name, *photos, *left]


def settle(number: int) -> None:
    """What the next start does; now and then with all else that it does."""
    from drystow.web.data import exchange
    from drystow.web.server import _bring_up_to_date

    if number % FEW:
        exchange.settle()
    else:
        _bring_up_to_date()


def steps(work: Callable[[], object], note: Path) -> list[str]:
    """Return what is done by something that nobody kills."""

    def counted() -> None:
        counter = Counter()
        work()
        counter.busy = True
        note.write_text(json.dumps(counter.done))

    assert not apart(counted)
    found: list[str] = json.loads(note.read_text())
    return found


def killed(work: Callable[[], object], number: int) -> bool:
    """Return whether something was killed before its so-manieth step."""

    def until() -> None:
        Counter(number)
        work()

    return apart(until)


def main() -> None:
    """Kill, settle, look; print what was found as JSON, after each kill and after each settling that was killed too."""
    from drystow.web.server import start_django

    start_django()
    from drystow.web.data import exchange

    kitchen, note = Kitchen(), Path(os.environ["DRYSTOW_DATA"]).parent / "steps.json"
    kitchen.make()
    done = steps(kitchen.restore, note)
    kitchen.set("old")
    told: dict[str, Any] = {"steps": done, "looks": [], "settled_twice": []}
    sql = [number for number, what in enumerate(done, 1) if what == "sql"]
    tried = [
        number
        for number, what in enumerate(done, 1)
        if what != "sql" or number in (sql[0], sql[-1]) or number % FEW == 0 or done[number - 2] != "sql"
    ]
    for number in tried:
        assert killed(kitchen.restore, number), number
        cut_off = exchange.is_cut_off()
        assert not apart(partial(settle, number))
        told["looks"].append([number, done[number - 1], *kitchen.look()])
        kitchen.set("old")
        if cut_off and done[number - 1] != "sql":
            for again in range(1, 99):
                assert killed(kitchen.restore, number)
                if not killed(exchange.settle, again):
                    break
                assert not apart(partial(settle, again))
                told["settled_twice"].append([number, again, *kitchen.look()])
                kitchen.set("old")
            kitchen.set("old")
    print(json.dumps(told), flush=True)


if __name__ == "__main__":
    main()
