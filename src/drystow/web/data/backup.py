"""The whole kitchen in one file: written at one moment, read back completely or not at all.

The file is a zip with ``manifest.json``, one ``<app>.<model>.jsonl`` per kind of record, and photos under ``media/``.
Accounts and tokens stay where they are.
"""

import json
import shutil
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
from django.db.models import FileField, Model
from django.utils import timezone

from drystow import __version__
from drystow.messages import msg, msg_many
from drystow.web.kit import records

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


SET_ASIDE = "photos-nobody-names"
WORDS = msg("its photo is missing")


def photo_rows() -> Iterator[tuple[type[Any], int, str, str]]:
    """Yield kind and number of each row that names a photo, also in the bin, with the field and the name."""
    for model in kitchen_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, FileField):
                rows = model._default_manager.exclude(**{field.name: ""}).order_by("pk")
                for pk, name in rows.values_list("pk", field.name):
                    yield model, pk, field.name, name


def photo_names() -> set[str]:
    """Return the names of all photos that rows name."""
    return {name for _model, _pk, _field, name in photo_rows()}


def missing_photos() -> list[tuple[type[Any], int, str, str]]:
    """Return those of `photo_rows` whose photo is not there, but for those in the bin."""
    gone = [row for row in photo_rows() if not (media_folder() / row[3]).is_file()]
    return [row for row in gone if row[0]._default_manager.filter(pk=row[1], binned_at=None).exists()]


def unnamed_photos() -> list[Path]:
    """Return the files among the photos that no row names."""
    folder, named = media_folder(), {media_folder() / name for name in photo_names()}
    found = sorted(folder.rglob("*")) if folder.is_dir() else []
    return [path for path in found if path.is_file() and path not in named]


def mend_photos() -> str:
    """Fetch missing photos from the backups in the data folder, take lost ones out of their rows, and set aside files
    that no row names; return what was done.

    Nothing is deleted: what is taken out of a row is undone like any other change.
    """
    fetched, lost = 0, 0
    for model, pk, field, name in missing_photos():
        row = model._default_manager.get(pk=pk)
        if _fetched(name):
            fetched += 1
        else:
            lost += 1
            if getattr(row, "kind", "") == "photo":
                records.put_in_bin(row, words=WORDS)
            else:
                records.change(row, {field: ""}, expected=row.version, words=WORDS)
    unnamed = unnamed_photos()
    for path in unnamed:
        place = _set_aside() / path.relative_to(media_folder())
        place.parent.mkdir(parents=True, exist_ok=True)
        path.replace(place)
    told = [
        msg_many("{count} photo fetched from a backup", "{count} photos fetched from a backup", fetched)
        if fetched
        else "",
        msg_many(
            "{count} entry without its lost photo (in the history)",
            "{count} entries without their lost photo (in the history)",
            lost,
        )
        if lost
        else "",
        msg_many(
            "{count} file that nothing names moved to {place}",
            "{count} files that nothing names moved to {place}",
            len(unnamed),
            place=str(_set_aside()),
        )
        if unnamed
        else "",
    ]
    return "; ".join(part for part in told if part) or "nothing was to be done"


def _fetched(name: str) -> bool:
    """Return whether a photo was found, set aside or in a backup in the data folder, and is in its place again."""
    place, aside = media_folder() / name, _set_aside() / name
    if aside.is_file():
        place.parent.mkdir(parents=True, exist_ok=True)
        aside.replace(place)
        return True
    for backup in sorted(Path(settings.DATA_FOLDER).glob("*.zip"), reverse=True):
        try:
            with zipfile.ZipFile(backup) as archive, archive.open(MEDIA + name) as part:
                place.parent.mkdir(parents=True, exist_ok=True)
                draft = place.with_name(place.name + ".part")
                with draft.open("wb") as copy:
                    shutil.copyfileobj(part, copy)
                draft.replace(place)
                return True
        except (KeyError, OSError, zipfile.BadZipFile, RuntimeError, NotImplementedError):
            continue
    return False


def _set_aside() -> Path:
    return Path(settings.DATA_FOLDER) / SET_ASIDE
