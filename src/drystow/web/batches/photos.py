"""Photos that people add: only real pictures, of a sensible size, under names that nobody can guess."""

import secrets
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

LARGEST = 8 * 1024 * 1024  # bytes
TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}


def picture_kind(head: bytes) -> str | None:
    """Return jpg, png or webp by the first bytes of a file, None for anything else.

    head: at least the first 12 bytes
    Source: definition, ISO/IEC 10918-1, ISO/IEC 15948 and RFC 9649.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "webp"
    return None


def checked_photo(upload: Any) -> Any:
    """Return an uploaded picture under a random name; raise `ValidationError` for anything else."""
    if upload.size > LARGEST:
        raise ValidationError(
            _("This file has {size:.1f} MB; a photo can have up to 8 MB.").format(size=upload.size / 1048576)
        )
    upload.seek(0)
    kind = picture_kind(upload.read(16))
    upload.seek(0)
    if kind is None:
        raise ValidationError(_("This photo can’t be shown; choose a JPEG, PNG or WebP picture."))
    upload.name = f"{secrets.token_hex(16)}.{kind}"
    return upload
