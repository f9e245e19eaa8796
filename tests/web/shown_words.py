"""What a page of the site shows that `docs/words.md` has a better word for."""

import html
import re
from collections.abc import Iterator

from tests.test_words import BANNED

UNSEEN = re.compile(r"<(script|style|svg|textarea)\b.*?</\1>", re.DOTALL)
SOURCES = re.compile(r'<ul class="sources">.*?</ul>', re.DOTALL)
"""Titles of publications, which are spelled as they were printed."""
TAG = re.compile(r"<[^>]+>")
WORD = re.compile(rf"\b({'|'.join(BANNED)})\b", re.IGNORECASE)
SPAN = re.compile(r"8 (?:of|in|out of) 10 simulated", re.IGNORECASE)
"""What a range of a forecast means, which a page says once."""


def shown(page: str) -> str:
    """Return the text that a page shows."""
    return " ".join(html.unescape(TAG.sub(" ", UNSEEN.sub(" ", SOURCES.sub(" ", page)))).split())


def worse_words(page: str) -> Iterator[str]:
    """Yield each word of an English page that has a better one, with those around it, and what it says twice."""
    if '<html lang="es"' in page:
        return
    text = shown(page)
    for hit in WORD.finditer(text):
        yield text[max(hit.start() - 40, 0) : hit.end() + 40]
    if len(SPAN.findall(text)) > 1:
        yield f"{len(SPAN.findall(text))} times what a range means"
