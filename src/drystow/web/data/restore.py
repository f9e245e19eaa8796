"""Read a backup into the database: everything in it or, on any problem, nothing."""

import json
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from itertools import islice
from pathlib import Path, PurePosixPath
from typing import IO, Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection
from django.db.models import Model
from django.utils import timezone

from drystow.errors import InputError
from drystow.messages import msg
from drystow.web.costs.sums import rebuild_sums
from drystow.web.data import backup
from drystow.web.data.backup import CHUNK, MANIFEST, MEDIA, kitchen_models
from drystow.web.data.exchange import NEW, UNFINISHED, aside, exchange
from drystow.web.kit.models import Answer, Change, Kitchen
from drystow.web.kit.old_answers import OLD, dry_times, fields_of
from drystow.web.kit.si import row_in_si
from drystow.web.pantry.readings import rebuild_months
from drystow.web.plans.models import Booked

LONGEST_LINE = 5_000_000
MOST_BYTES = 20_000_000_000
SPARE = 50_000_000  # left free on the disk [bytes]
MADE_BY_ITSELF = (Kitchen, Change)  # an empty kitchen has these
RENAMED = {"site.household": "site.kitchen"}
"""Kind of record as an older backup calls it -> as it is called now."""


@dataclass(frozen=True)
class Restored:
    """What a restore did.

    counts: records of each kind
    media: how many photos
    kept: file with what was there before, None when the kitchen was empty
    notes: sentences to read
    """

    counts: dict[str, int]
    media: int
    kept: Path | None
    notes: tuple[str, ...]


def is_empty() -> bool:
    """Return whether the kitchen has nothing yet besides its settings."""
    return not any(model._default_manager.exists() for model in kitchen_models() if model not in MADE_BY_ITSELF)


def restore_backup(file: IO[bytes], *, replace: bool = False) -> Restored:
    """Read a backup into an empty house; raise `InputError` and change nothing when anything is wrong.

    file: open for reading, binary
    replace: the kitchen need not be empty; what was there goes into a backup of its own and is replaced
    """
    with _opened(file) as archive:
        manifest = _manifest(archive)
        notes = _check_schema(manifest)
        _check_content(archive, manifest)
        empty = is_empty()
        if not empty and not replace:
            words = msg(
                "there are records here already; restore into a new data folder, or choose to replace what is here"
            )
            raise InputError("backup", words)
        with aside() as folder:
            kept = None if empty else _keep_what_is_there()
            media = _unpack_media(archive, folder / NEW)
            counts = _exchanged(archive, manifest, folder)
    return Restored(counts, media, kept, tuple(notes))


def _opened(file: IO[bytes]) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(file)
    except (zipfile.BadZipFile, OSError, ValueError):
        raise InputError("backup", msg("this is not a Drystow backup; choose the .zip file Drystow wrote")) from None


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    try:
        with archive.open(MANIFEST) as part:
            manifest = json.loads(part.read(LONGEST_LINE))
    except (KeyError, ValueError, zipfile.BadZipFile, RuntimeError, NotImplementedError):
        manifest = None
    if not isinstance(manifest, dict) or manifest.get("format") != backup.FORMAT:
        raise InputError(
            "backup", msg("this zip file has no {name} from Drystow; choose the file Drystow wrote", name=MANIFEST)
        )
    if manifest.get("version") != backup.FORMAT_VERSION:
        words = msg(
            "it was written in format {written}, but this Drystow reads {known}; update Drystow first",
            written=str(manifest.get("version")),
            known=backup.FORMAT_VERSION,
        )
        raise InputError("backup", words)
    tables = ("schema", "records")
    if not all(isinstance(manifest.get(name), dict) for name in tables):
        raise InputError("backup", msg("the part '{part}' is damaged; use another backup", part=MANIFEST))
    return manifest


def _check_schema(manifest: dict[str, Any]) -> list[str]:
    known = backup.schema()
    notes: list[str] = []
    for app, written in manifest["schema"].items():
        own = known.get(app)
        if own is None or str(written)[:4] > own[:4]:
            program = str(manifest.get("program"))[:20]
            words = msg("it was written by a newer Drystow ({program}); update this one first", program=program)
            raise InputError("backup", words)
        if str(written) != own:
            notes.append(
                msg("The backup is older than this version ({app}): new fields got their usual values.", app=app)
            )
    return notes


def _check_content(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    names = archive.namelist()
    missing = [label for label in manifest["records"] if f"{label}.jsonl" not in names]
    if missing:
        raise InputError(
            "backup", msg("the part '{part}' is missing; the file is damaged, use another backup", part=missing[0])
        )
    labels = {model._meta.label_lower for model in kitchen_models()}
    foreign = sorted(set(manifest["records"]) - labels - set(RENAMED) - OLD.keys())
    if foreign:
        raise InputError(
            "backup", msg("it holds records called '{name}' that this version does not know", name=foreign[0][:60])
        )
    size = sum(info.file_size for info in archive.infolist())
    free = shutil.disk_usage(settings.DATA_FOLDER).free
    if size > min(MOST_BYTES, free - SPARE):
        raise InputError(
            "backup",
            msg(
                "unpacked it takes {size:.0f} MB, but the disk has only {free:.0f} MB left",
                size=size / 1e6,
                free=free / 1e6,
            ),
        )
    try:
        damaged = archive.testzip()
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError):
        damaged = "the file"
    if damaged:
        raise InputError("backup", msg("the part '{part}' is damaged; use another backup", part=damaged[:80]))


def _keep_what_is_there() -> Path:
    path = Path(settings.DATA_FOLDER) / f"before-restore-{timezone.now():%Y%m%d-%H%M%S-%f}.zip"
    draft = path.with_name(path.name + UNFINISHED)
    with draft.open("xb") as file:
        draft.chmod(0o600)
        backup.write_backup(file)
    return draft.replace(path)


def _unpack_media(archive: zipfile.ZipFile, folder: Path) -> int:
    count = 0
    for info in archive.infolist():
        inside = PurePosixPath(info.filename.removeprefix(MEDIA))
        if not info.filename.startswith(MEDIA) or info.is_dir():
            continue
        if inside.is_absolute() or ".." in inside.parts or "\\" in info.filename or ":" in info.filename:
            raise InputError(
                "backup",
                msg("the photo '{name}' would land outside its folder, so it was not read", name=info.filename[:80]),
            )
        target = folder / inside
        target.parent.mkdir(parents=True, exist_ok=True)
        with archive.open(info) as part, target.open("xb") as copy:
            shutil.copyfileobj(part, copy)
        count += 1
    return count


def _exchanged(archive: zipfile.ZipFile, manifest: dict[str, Any], folder: Path) -> dict[str, int]:
    """Replace all rows and photos and return the records of each kind; on any problem raise `InputError`."""
    try:
        return exchange(folder, lambda: _write_rows(archive, manifest))
    except InputError:
        raise
    except (DatabaseError, OSError, ValueError, OverflowError, TypeError) as problem:
        why = " ".join(str(problem).split())[:160]
        words = msg("it can’t be restored ({why}); nothing was changed", why=why)
        raise InputError("backup", words) from None


def _write_rows(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> dict[str, int]:
    """Replace all rows, within a transaction."""
    counts = {}
    for model in reversed(kitchen_models()):
        model._default_manager.all()._raw_delete(connection.alias)
    parts = {RENAMED.get(part, part): part for part in manifest["records"]}
    for model in kitchen_models():
        label = model._meta.label_lower
        if part := parts.get(label):
            counts[label] = _insert(archive, model, part)
            if counts[label] != manifest["records"][part]:
                raise InputError(
                    "backup", msg("the part '{part}' does not hold as many records as it should", part=part)
                )
    _take_over_old_answers(archive, manifest)
    rebuild_months()
    rebuild_sums()
    connection.check_constraints()
    _set_counters()
    return counts


def _take_over_old_answers(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    """Bring what an older backup has of answers to where it stands now, as the migrations do."""
    for label in OLD.keys() & manifest["records"].keys():
        for fields, times in _lines(archive, label, partial(_old_answer, label)):
            Answer.objects.create(**fields)
            for batch, dry in times.items():
                Booked.objects.filter(batch=batch).update(dry=dry)


def _old_answer(label: str, row: dict[str, Any]) -> tuple[dict[str, Any], dict[int, datetime]]:
    return fields_of(label, row), dry_times(row.get("result")) if label == "plans.made" else {}


def _insert(archive: zipfile.ZipFile, model: type[Model], part: str) -> int:
    rows, count = _rows(archive, model, part), 0
    while chunk := list(islice(rows, CHUNK)):
        model._default_manager.bulk_create(chunk)
        count += len(chunk)
    return count


def _rows(archive: zipfile.ZipFile, model: type[Model], part: str) -> Iterator[Model]:
    fields = {field.attname: field for field in model._meta.concrete_fields}
    yield from _lines(archive, part, partial(_row, model, fields))


def _row(model: type[Model], fields: dict[str, Any], raw: dict[str, Any]) -> Model:
    if "kind" in raw:  # the history and what was typed name the kind of record that they are about
        raw["kind"] = RENAMED.get(raw["kind"], raw["kind"])
    raw = row_in_si(model._meta.label_lower, raw)
    if "before" in raw:
        raw |= {name: row_in_si(raw["kind"], raw[name]) for name in ("before", "after")}
    return model(**{name: _value(fields[name], value) for name, value in raw.items()})


def _lines(archive: zipfile.ZipFile, part: str, made: Callable[[dict[str, Any]], Any]) -> Iterator[Any]:
    """Yield the records of a kind, each as `made` makes it of its columns."""
    number = 0
    with archive.open(f"{part}.jsonl") as lines:
        while line := lines.readline(LONGEST_LINE):
            number += 1
            try:
                one = made(json.loads(line))
            except (ValueError, KeyError, TypeError, AttributeError, RecursionError, ValidationError):
                words = msg(
                    "line {number} of '{part}' is not a record; the file is damaged, use another backup",
                    number=number,
                    part=part,
                )
                raise InputError("backup", words) from None
            yield one


def _value(field: Any, value: Any) -> Any:
    return None if value is None else field.to_python(value)


def _set_counters() -> None:
    """Let new records count on from the restored ones (SQLite does so by itself)."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), kitchen_models()):
            cursor.execute(statement)
