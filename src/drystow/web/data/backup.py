"""The whole kitchen in one file: written at one moment, read back completely or not at all.

The file is a zip with ``manifest.json``, one ``<app>.<model>.jsonl`` per kind of record, and photos under ``media/``.
Accounts and tokens stay where they are.
"""

import json
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path, PurePosixPath
from typing import IO, Any

from django.apps import apps
from django.conf import settings
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import Model
from django.utils import timezone

from drystow import __version__

FORMAT = "drystow-backup"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"
MEDIA = "media/"
DERIVED = ("pantry.placemonth", "costs.batchsums", "costs.outdated")
"""Sums over other rows: not written, made again when a backup is read."""

APPS = ("site", "foods", "dryers", "batches", "pantry", "costs", "readings", "plans")
CHUNK = 2000


def kitchen_models() -> list[type[Model]]:
    """Return every kind of record that belongs to the kitchen, what others point to first."""
    return [model for label in APPS if apps.is_installed(f"drystow.web.{label}") for model in _models(label)]


def schema() -> dict[str, str]:
    """Return the newest migration of each app as the program knows it."""
    leaves = MigrationLoader(None, ignore_no_migrations=True).graph.leaf_nodes()
    return {app: name for app, name in leaves if app in APPS}


def write_backup(file: IO[bytes]) -> dict[str, int]:
    """Write everything to an open file and return how many records of each kind there are.

    file: open for writing, binary
    """
    counts = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive, one_moment():
        for model in kitchen_models():
            label = model._meta.label_lower
            with archive.open(f"{label}.jsonl", "w", force_zip64=True) as part:
                counts[label] = _write_rows(model, part)
        media = _write_media(archive)
        manifest = {
            "format": FORMAT,
            "version": FORMAT_VERSION,
            "program": __version__,
            "written_at": timezone.now().isoformat(),
            "schema": schema(),
            "records": counts,
            "media": media,
        }
        archive.writestr(MANIFEST, json.dumps(manifest, indent=2))
    return counts


def rows_of(model: type[Model]) -> Iterator[dict[str, Any]]:
    """Yield the records of one kind, in the order of their numbers, as plain values by column.

    model: the kind
    """
    columns = [field.attname for field in model._meta.concrete_fields]
    yield from model._default_manager.order_by("pk").values(*columns).iterator(chunk_size=CHUNK)


@contextmanager
def one_moment() -> Iterator[None]:
    """Read everything as of one moment, without holding up those who write meanwhile."""
    if connection.in_atomic_block:
        yield
        return
    begin = "BEGIN DEFERRED" if connection.vendor == "sqlite" else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
    with connection.cursor() as cursor:
        cursor.execute(begin)
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def media_folder() -> Path:
    """Return where the photos are."""
    return Path(settings.MEDIA_ROOT)


def _models(label: str) -> list[type[Model]]:
    return [
        model
        for model in apps.get_app_config(label).get_models()
        if model._meta.managed and model._meta.label_lower not in DERIVED
    ]


def _write_rows(model: type[Model], part: IO[bytes]) -> int:
    count = 0
    for row in rows_of(model):
        part.write(json.dumps(row, ensure_ascii=False, allow_nan=False, default=_written).encode() + b"\n")
        count += 1
    return count


def _written(value: object) -> str:
    return value.isoformat() if isinstance(value, date | datetime) else str(value)


def _write_media(archive: zipfile.ZipFile) -> int:
    folder, count = media_folder(), 0
    for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
        if path.is_file() and not path.is_symlink():
            archive.write(path, MEDIA + str(PurePosixPath(path.relative_to(folder))), zipfile.ZIP_STORED)
            count += 1
    return count
