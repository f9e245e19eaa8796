"""Write the catalogues: every text that pages mark for translation, and every sentence that the engine says.

Babel finds the texts (`tools.extraction` tells it how), keeps what is translated, adds what is new with an empty
translation, drops what is gone, and compiles. Every language of `LANGUAGES` in the settings but English has a
catalogue; one that is not there yet is begun. ``--check`` changes nothing and says what lacks a translation, has other
placeholders or plural forms than it must, or is stale.
"""

import io
import sys
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.extract import extract, extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from babel.numbers import format_percent

from drystow.days import CLOCK, STYLES, WITH_CLOCK
from drystow.foods.classify import ALLERGENS
from drystow.foods.kinds import relative_rows
from drystow.foods.model import FOOD_CLASSES, PART_WORDS, PARTS
from drystow.messages import EXAMPLE
from drystow.properties.suitability import VERDICTS
from drystow.shown import DISPLAY, MEASURES, PATTERNS
from drystow.sources import MARKS, SHORT_MARKS
from drystow.web.settings import LANGUAGES
from tools.extraction import KEYWORDS, METHODS, OPTIONS

ENGINE = Path(__file__).parent.parent / "src" / "drystow"
WEB = ENGINE / "web"
DAY_PATTERNS = {
    *(text for row in STYLES.values() for text in row.values()),
    *(text for _day, text in WITH_CLOCK.values()),
}
LABELS = {row[system][0] for row in DISPLAY.values() for system in ("us", "si")}
WORDS = (
    EXAMPLE,
    CLOCK,
    *sorted(DAY_PATTERNS),
    *PATTERNS,
    *MEASURES,
    *FOOD_CLASSES,
    *relative_rows(),
    *ALLERGENS,
    *(part for part in PARTS if part not in PART_WORDS),
    "sugars",
    "salt",
    *VERDICTS,
    *MARKS.values(),
    *SHORT_MARKS.values(),
    *sorted(label for label in LABELS if label.isalpha() and len(label) > 3),
)
"""Words of the engine that pages show or offer."""

LOCALE = WEB / "locale"
SOURCE_LANGUAGE = "en"
Message = tuple[str, str]
"""Text, and its plural or nothing."""


def catalogue_path(language: str, locale: Path = LOCALE) -> Path:
    """Return where the catalogue of a language lies."""
    return locale / language / "LC_MESSAGES" / "django.po"


CATALOGUE = catalogue_path("es")


def catalogues() -> dict[str, Path]:
    """Return where the catalogue of each language lies, also of one that has none yet."""
    return {code: catalogue_path(code) for code, _name in LANGUAGES if code != SOURCE_LANGUAGE}


class Texts(Catalog):
    """A catalogue whose head says nothing that changes by itself: no date, no version of a program."""

    @property
    def mime_headers(self) -> list[tuple[str, str]]:
        """What reads the catalogue needs to know."""
        return [
            ("Content-Type", "text/plain; charset=UTF-8"),
            ("Content-Transfer-Encoding", "8bit"),
            ("Language", self.locale_identifier or ""),
            ("Plural-Forms", self.plural_forms),
        ]

    @mime_headers.setter
    def mime_headers(self, headers: Iterable[tuple[str, str]]) -> None:
        self._set_mime_headers(headers)


@cache
def marked() -> list[Message]:
    """Return every marked text, in the order of the files, after the words of the engine."""
    found: dict[str, str] = dict.fromkeys(WORDS, "")
    for file, _line, message, _remarks, _context in extract_from_dir(ENGINE, METHODS, OPTIONS, KEYWORDS):
        text, plural = pair(message)
        if plural and found.get(text, plural) not in ("", plural):
            raise SystemExit(f"{file}: {text!r} has two plurals: {plural!r} and {found[text]!r}; reword one")
        found[text] = found.get(text) or plural
    return list(found.items())


def marked_in(method: str, source: str, **options: str) -> list[Message]:
    """Return the texts that one method of `tools.extraction` finds in a source."""
    found = extract(f"tools.extraction:{method}", io.BytesIO(source.encode()), KEYWORDS, options=options)
    return [pair(message) for _line, message, _remarks, _context in found]


def pair(message: str | Sequence[str]) -> Message:
    """Return a text of Babel's and its plural, or nothing in its place."""
    return (message, "") if isinstance(message, str) else (message[0], message[1])


def read(path: Path = CATALOGUE) -> dict[str, list[str]]:
    """Return the translations of a catalogue: text -> its translation, or one for each plural form."""
    return {
        pair(message.id)[0]: [message.string] if isinstance(message.string, str) else [*(message.string or ())]
        for message in _read(path)
        if message.id
    }


def _read(path: Path) -> Catalog:
    with path.open("rb") as file:
        return read_po(file)


def catalogue(language: str, messages: list[Message], path: Path) -> Texts:
    """Return the catalogue of a language: these texts with what the file, if there is one, has of them."""
    texts = Texts(locale=language, fuzzy=False, header_comment="# Written by `python -m tools.write_catalogue`.")
    known = begun(language)
    if path.exists():
        texts.mime_headers = [("Plural-Forms", _read(path).plural_forms)]  # a translator may have written another rule
        known = read(path)
    for text, plural in messages:
        strings = known.get(text, [])
        if plural:
            strings = (strings + [""] * texts.num_plurals)[: texts.num_plurals]
            message = texts.add((text, plural), tuple(strings))
        else:
            message = texts.add(text, strings[0] if len(strings) == 1 else "")
        if "%(" not in text + plural:
            message.flags.discard("python-format")  # a percent sign in a sentence
    return texts


def begun(language: str) -> dict[str, list[str]]:
    """Return the entries that are no texts: the code of the language, and how it writes numbers by the Unicode data."""
    locale = Locale.parse(language, sep="-")
    pattern = locale.percent_formats[None].pattern.replace("0", "0.0", 1)
    return {"en": [locale.language], EXAMPLE: [format_percent(10.005, pattern, locale=locale)]}


def lacking(texts: Catalog) -> list[str]:
    """Return the texts of a catalogue without a translation, or with a part of one."""
    return [
        pair(one.id)[0]
        for one in texts
        if one.id and not all([one.string] if isinstance(one.string, str) else one.string or ())
    ]


def written(texts: Catalog) -> bytes:
    """Return a catalogue as translators read it: an entry a block, no broken lines, no places in the code."""
    file = io.BytesIO()
    write_po(file, texts, width=0, no_location=True, ignore_obsolete=True)
    return file.getvalue().rstrip(b"\n") + b"\n"


def compiled(texts: Catalog) -> bytes:
    """Return a catalogue as the program reads it."""
    file = io.BytesIO()
    write_mo(file, texts)
    return file.getvalue()


def faults(texts: Catalog, path: Path) -> list[str]:
    """Return what is wrong with the catalogue of a language."""
    language = texts.locale_identifier
    found = [f"{pair(message.id)[0]}: {error}" for message, errors in texts.check() for error in errors]
    missing = lacking(texts)
    if missing:
        found.append(f"without {language}: " + "; ".join(missing))
    machine = path.with_suffix(".mo")
    if not (machine.exists() and (path.read_bytes(), machine.read_bytes()) == (written(texts), compiled(texts))):
        found.append(f"the catalogue {language} is stale: run `python -m tools.write_catalogue` and commit it")
    return found


def main() -> None:
    """Write or check the catalogues."""
    for language, path in catalogues().items():
        texts = catalogue(language, marked(), path)
        if "--check" in sys.argv:
            if found := faults(texts, path):
                sys.exit("\n".join(found))
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(written(texts))
        path.with_suffix(".mo").write_bytes(compiled(texts))
        print(f"{language}: {len(texts)} texts, {len(lacking(texts))} without a translation")


if __name__ == "__main__":
    main()
