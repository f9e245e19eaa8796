"""Exchange all rows and all photos as one: both or neither, also when the program is killed or the power goes.

The new photos wait in a folder of their own. A journal beside the database names it before anything else is touched;
then rows and photos change places within one transaction, in which the one row of `RestoreMark` takes the name of that
folder. The commit of this transaction decides: whoever starts next finds the journal, looks at the mark, and either
clears up or puts the old photos back.
"""

import json
import logging
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

from django.conf import settings
from django.db import connection, transaction

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.data.backup import media_folder, photo_names
from drystow.web.data.models import RestoreMark
from drystow.web.folder import locked

PREFIX = ".restore-"
UNFINISHED = ".part"
"""End of the name of a backup that is still being written."""
JOURNAL = "restore-journal.json"
NEW, OLD, STRAY = "new", "old", "stray"
MARK = 1

Result = TypeVar("Result")
_log = logging.getLogger(__name__)


@contextmanager
def aside() -> Iterator[Path]:
    """Give a folder to unpack into, with a folder `NEW` for the photos; one restore at a time."""
    with locked(_data()) as mine:
        if not mine:
            raise InputError("backup", msg("another restore is running; wait until it is done"))
        _settle()
        folder = Path(tempfile.mkdtemp(prefix=PREFIX, dir=_data()))
        (folder / NEW).mkdir()
        try:
            yield folder
        finally:
            if not _journal().exists():
                shutil.rmtree(folder, ignore_errors=True)


def exchange(folder: Path, write_rows: Callable[[], Result]) -> Result:
    """Replace all rows and all photos, and return what `write_rows` returned; on any problem nothing is changed.

    folder: from `aside`, its photos complete
    write_rows: replaces the rows, within a transaction
    """
    RestoreMark.objects.get_or_create(pk=MARK)
    _write_journal(folder)
    try:
        with _surely_kept(), transaction.atomic():
            # The mark is kept or lost with the rows: after a kill it tells to which of the two the photos must belong.
            mark = RestoreMark.objects.select_for_update().get(pk=MARK)
            mark.folder = folder.name
            mark.save()
            result = write_rows()
            _swap_photos(folder)
    finally:
        _settle()
    return result


def is_cut_off() -> bool:
    """Return whether a restore was begun and neither finished nor taken back."""
    return _journal().exists()


def settle() -> None:
    """Finish or take back a restore that was cut off; nothing while one is at work."""
    if _is_settled():
        return
    with locked(_data()) as mine:
        if mine:
            _settle()


def _settle() -> None:
    with suppress(FileNotFoundError):
        folder = _data() / json.loads(_journal().read_text(encoding="utf-8"))["folder"]
        with transaction.atomic():  # waits for a transaction that is still being committed
            mark = RestoreMark.objects.select_for_update().filter(pk=MARK).first()
            done = mark is not None and mark.folder == folder.name
        if not done:
            _put_back(folder)
        _adopt(folder)
        _journal().unlink()
        _sync(_data())
    for left in _data().glob(f"{PREFIX}*"):
        shutil.rmtree(left, ignore_errors=True)
    for left in _data().glob(f"before-restore-*{UNFINISHED}"):
        left.unlink(missing_ok=True)


def _is_settled() -> bool:
    return not any(
        next(_data().glob(pattern), None) for pattern in (JOURNAL, f"{PREFIX}*", f"before-restore-*{UNFINISHED}")
    )


def _swap_photos(folder: Path) -> None:
    media = media_folder()
    if media.is_dir():
        media.rename(folder / OLD)
    (folder / NEW).rename(media)
    _sync(folder)
    _sync(media.parent)


def _put_back(folder: Path) -> None:
    """Give the photos from before their place again, from wherever the exchange stopped."""
    media, new, old = media_folder(), folder / NEW, folder / OLD
    if not new.exists() and media.exists():
        media.rename(new)
    if old.exists():
        if media.exists():  # somebody added a photo meanwhile
            media.rename(folder / STRAY)
        old.rename(media)
    _sync(media.parent)


def _adopt(folder: Path) -> None:
    """Fetch photos that rows name and that stand in another folder of the exchange, such as one added meanwhile."""
    for name in photo_names():
        place = media_folder() / name
        found = next((folder / part / name for part in (STRAY, NEW, OLD) if (folder / part / name).is_file()), None)
        if found is not None and not place.exists():
            place.parent.mkdir(parents=True, exist_ok=True)
            found.rename(place)


def _write_journal(folder: Path) -> None:
    """Write the journal in one step, after all that it speaks of has reached the disk."""
    for path in folder.rglob("*"):
        _sync(path)
    draft = folder / JOURNAL
    draft.write_text(json.dumps({"folder": folder.name}), encoding="utf-8")
    _sync(draft)
    draft.replace(_journal())
    _sync(_data())


@contextmanager
def _surely_kept() -> Iterator[None]:
    """Within it a commit has reached the disk when it returns, also with SQLite, which else leaves that to later."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous=FULL")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA synchronous=NORMAL")


def _sync(path: Path) -> None:
    """Have a file, or the names in a folder, reach the disk."""
    if path.is_dir() and os.name != "posix":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() or os.name == "posix" else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _data() -> Path:
    return Path(settings.DATA_FOLDER)


def _journal() -> Path:
    return _data() / JOURNAL
