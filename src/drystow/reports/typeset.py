"""Typesetting: a template of this package plus data gives a PDF, with the fonts that the typesetter carries itself."""

import json
from collections.abc import Iterable
from importlib.resources import as_file, files
from typing import Any

from drystow.errors import InputError
from drystow.messages import Translate, msg, told

# Scripts that the carried fonts cover (Latin, Greek, Cyrillic, Hebrew, Arabic, signs). Text outside them borrows the
# computer's own fonts; everything else looks the same on every computer.
_COVERED = ((0x0000, 0x06FF), (0x1E00, 0x1FFF), (0x2000, 0x218F), (0x2190, 0x22FF), (0xFB00, 0xFDFF), (0xFE70, 0xFEFF))


def needs_other_fonts(text: str) -> bool:
    """Say whether `text` has characters that the carried fonts lack, such as emoji or Chinese."""
    return any(not any(low <= ord(letter) <= high for low, high in _COVERED) for letter in set(text))


def compiler(template: str, data: object) -> Any:
    """Return a typesetter for a template of this package.

    data: anything JSON can hold; the template reads it as data, so no text of a user is ever markup
    """
    import typst

    text = json.dumps(data, ensure_ascii=False)
    with as_file(files("drystow.reports").joinpath(template)) as path:
        return typst.Compiler(
            input=str(path), ignore_system_fonts=not needs_other_fonts(text), sys_inputs={"data": text}
        )


def words_of(words: Iterable[str], translate: Translate) -> dict[str, str]:
    """Return the fixed words of a template in the reader's language, by their English."""
    return {str(word): told(word, translate) for word in words}


def paper_name(units: str, paper: str) -> str:
    """Return what the typesetter calls a paper; `InputError` when nobody knows it or the units of the sheet."""
    if units not in ("us", "si"):
        raise InputError("units", msg("'{units}' is not a unit system; write us or si", units=units))
    if paper not in ("letter", "a4"):
        raise InputError("paper", msg("'{paper}' is not a paper size; write letter or a4", paper=paper))
    return "us-letter" if paper == "letter" else "a4"


def typeset(template: str, data: object, *, tags: bool = True) -> bytes:
    """Return the PDF of a template of this package filled with `data`; `tags` for screen readers."""
    pdf: bytes = compiler(template, data).compile(format="pdf", pdf_tags=tags)
    return pdf
