"""Files of loggers between their upload and their reading: in the data folder, for a day."""

import re
import secrets
import time
from pathlib import Path

from django.conf import settings

A_DAY = 86_400.0
FOLDER = "uploads"
TOKEN = re.compile(r"[0-9a-f]{32}")
MOST_KEPT = 20


def keep(text: str) -> str:
    """Keep the text of a file and return the name under which it waits; what waited for a day is deleted."""
    folder = _folder()
    folder.mkdir(mode=0o700, exist_ok=True)
    _tidy(folder)
    token = secrets.token_hex(16)
    path = folder / token
    path.touch(mode=0o600)
    path.write_text(text, encoding="utf-8", newline="")
    return token


def waiting(token: str) -> str | None:
    """Return the text of a file that waits, None when it does not wait any more."""
    if not TOKEN.fullmatch(token):
        return None
    try:
        return (_folder() / token).read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def forget(token: str) -> None:
    """Delete a file that waited."""
    if TOKEN.fullmatch(token):
        (_folder() / token).unlink(missing_ok=True)


def _folder() -> Path:
    return Path(settings.DATA_FOLDER) / FOLDER


def _tidy(folder: Path) -> None:
    waiting_files = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for place, path in enumerate(waiting_files):
        if place >= MOST_KEPT or path.stat().st_mtime < time.time() - A_DAY:
            path.unlink(missing_ok=True)
