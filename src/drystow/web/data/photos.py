"""The photos as files: which of them rows name, which nobody names, which are missing, and how that is mended."""

import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import FileField

from drystow.messages import msg, msg_many
from drystow.web.data.backup import MEDIA, kitchen_models, media_folder
from drystow.web.kit import records

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
