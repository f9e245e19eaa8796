"""Is everything in order? Each check says what it found and what to do."""

import os
import platform
import shutil
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from drystow import __version__
from drystow.figures import fixed, typed
from drystow.messages import msg_many
from drystow.web.data.backup import mend_photos, missing_photos, photo_names, unnamed_photos
from drystow.web.data.exchange import is_cut_off, settle
from drystow.web.pantry import books
from drystow.web.pantry.books import wrong_sums

ENOUGH_SPACE = 500_000_000  # [bytes]
SHOWN = 50  # packages that are named
MEND = "drystow doctor --mend"
PACKAGES = ("django", "numpy", "numba", "typst", "waitress", "openpyxl", "django-ninja")


@dataclass(frozen=True)
class Check:
    """One thing that was looked at.

    name: what
    ok: it is in order
    words: what was found and, if need be, what to do
    mend: what `drystow doctor --mend` does about it, returning what was done; None where a person has to
    """

    name: str
    ok: bool
    words: str
    mend: Callable[[], str] | None = None


def checks() -> Iterator[Check]:
    """Yield every check, the ones that need the database last."""
    for name, look, mend in CHECKS:
        yield Check(name, *look(), mend)
    try:
        for name, look, mend in DATABASE_CHECKS:
            yield Check(name, *look(), mend)
    except DatabaseError as problem:
        yield Check("database", False, f"it does not answer ({problem}); restore a backup into a new data folder")


def _versions() -> tuple[bool, str]:
    found, missing = [], []
    for name in PACKAGES:
        try:
            found.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            missing.append(name)
    words = f"Drystow {__version__}, Python {platform.python_version()}, {', '.join(found)}"
    return not missing, f"missing: {', '.join(missing)}; install Drystow again" if missing else words


def _folder() -> tuple[bool, str]:
    folder = Path(settings.DATA_FOLDER)
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        return False, f"{folder} cannot be written; give yourself the right, or set DRYSTOW_DATA to another folder"
    if os.name == "posix" and stat.S_IMODE(folder.stat().st_mode) & 0o077:
        return False, f"others on this computer can look into {folder}; run: chmod 700 '{folder}'"
    key = folder / "secret-key"
    if os.name == "posix" and key.exists() and stat.S_IMODE(key.stat().st_mode) & 0o077:
        return False, f"others on this computer can read {key}; run: chmod 600 '{key}'"
    return True, str(folder)


def _space() -> tuple[bool, str]:
    free = shutil.disk_usage(settings.DATA_FOLDER).free
    words = f"{fixed(free / 1e9, 1)} GB free"
    return free > ENOUGH_SPACE, words if free > ENOUGH_SPACE else f"only {words}; make room before the next backup"


def _compiled() -> tuple[bool, str]:
    from drystow.numerics.compiled import cache_folder

    folder = cache_folder()
    parent = next(path for path in (folder, *folder.parents) if path.exists())
    if not os.access(parent, os.W_OK):
        return (
            False,
            f"{parent} cannot be written, so every start compiles anew; set NUMBA_CACHE_DIR to a folder of yours",
        )
    count = sum(1 for _ in folder.rglob("*.nbc")) if folder.is_dir() else 0
    return (
        True,
        msg_many("{count} function in {folder}", "{count} functions in {folder}", count, folder=str(folder))
        if count
        else "not yet; the first simulation takes some seconds longer",
    )


def _database() -> tuple[bool, str]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA integrity_check(5)")
            found = [row[0] for row in cursor.fetchall()]
            cursor.execute("PRAGMA foreign_key_check")
            loose = len(cursor.fetchall())
            if found != ["ok"]:
                return False, f"damaged: {'; '.join(found)[:200]}; restore a backup into a new data folder"
            if loose:
                return False, msg_many(
                    "{count} row points to one that is gone; restore a backup into a new data folder",
                    "{count} rows point to rows that are gone; restore a backup into a new data folder",
                    loose,
                )
            size = Path(str(connection.settings_dict["NAME"]))
            return True, f"{size} is sound" + (f", {fixed(size.stat().st_size / 1e6, 1)} MB" if size.is_file() else "")
        cursor.execute("SELECT 1")
    return True, f"{connection.vendor} answers"


def _migrations() -> tuple[bool, str]:
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if plan:
        return False, f"{len(plan)} are waiting; start drystow serve once, it brings the database up to date"
    return True, "the database is up to date"


def _books() -> tuple[bool, str]:
    wrong = wrong_sums()
    if not wrong:
        return True, "what is left of every package is the sum of its movements"
    told = "; ".join(
        f"{one.package.code} {one.package.name}: {_grams(one.package.left_mass_kg)} left, its movements say"
        f" {_grams(one.moved_kg)}"
        for one in wrong[:SHOWN]
    )
    more = f"; and {len(wrong) - SHOWN} more" if len(wrong) > SHOWN else ""
    return False, f"{told}{more}; run drystow doctor --mend, then weigh these packages and count them in the app"


def _mend_books() -> str:
    """Let what is left of a package be the sum of its movements."""
    wrong = wrong_sums()
    for one in wrong:
        books.mend(one.package, who="drystow doctor")
    return msg_many(
        "{count} package holds the sum of its movements; weigh it and count it in the app",
        "{count} packages hold the sum of their movements; weigh them and count them in the app",
        len(wrong),
    )


def _grams(mass_kg: float) -> str:
    return f"{typed(mass_kg * 1000, 4)} g"


def _restore() -> tuple[bool, str]:
    if is_cut_off():
        return False, f"one was cut off; it is finished or taken back at the next start, or by {MEND}"
    return True, "none was cut off"


def _mend_restore() -> str:
    settle()
    return "another one is at work; wait for it" if is_cut_off() else "it is finished, or taken back as if never begun"


def _photos() -> tuple[bool, str]:
    missing, unnamed = missing_photos(), unnamed_photos()
    told = []
    if missing:
        first = missing[0][3]
        told.append(
            msg_many("{count} is missing: {first}", "{count} are missing, such as {first}", len(missing), first=first)
        )
    if unnamed:
        told.append(
            msg_many(
                "{count} file belongs to nothing: {first}",
                "{count} files belong to nothing, such as {first}",
                len(unnamed),
                first=str(unnamed[0]),
            )
        )
    if told:
        return False, f"{'; '.join(told)}; {MEND} looks for them in the backups beside and sets aside what is left over"
    return True, f"{len(photo_names())}, none missing and none left over"


Look = Callable[[], tuple[bool, str]]
Mend = Callable[[], str] | None
CHECKS: tuple[tuple[str, Look, Mend], ...] = (
    ("versions", _versions, None),
    ("data folder", _folder, None),
    ("disk space", _space, None),
    ("compiled code", _compiled, None),
)
DATABASE_CHECKS: tuple[tuple[str, Look, Mend], ...] = (
    ("database", _database, None),
    ("migrations", _migrations, None),
    ("restore", _restore, _mend_restore),
    ("photos", _photos, mend_photos),
    ("books", _books, _mend_books),
)
