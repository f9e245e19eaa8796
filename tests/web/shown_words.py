"""What a page of the site shows that `docs/words.md` has a better word for."""

import html
import re
from collections.abc import Iterator

from tests.words_banned import banned_on_a_page

UNSEEN = re.compile(r"<(script|style|textarea)\b.*?</\1>", re.DOTALL)
SPOKEN = re.compile(r'<[^>]*?\b(?:alt|aria-label|placeholder|title)="([^"]*)"[^>]*>')
"""A tag with an attribute that somebody reads or hears."""
TAG = re.compile(r"<[^>]+>")
BLOCK = re.compile(r"</(?:text|p|li|td|th|h\d|dt|dd|button|option|label|div)>")
SPAN = re.compile(r"8 (?:of|in|out of) 10 simulated|8 de cada 10 secados simulados", re.IGNORECASE)
"""What a range of a forecast means, which a page says once."""


def shown(page: str) -> str:
    """Return the text that a page shows or says to who listens, a stop between its blocks."""
    page = BLOCK.sub(" | ", SPOKEN.sub(r" | \1 | ", UNSEEN.sub(" ", page)))
    return " ".join(html.unescape(TAG.sub(" ", page)).split())


def worse_words(page: str) -> Iterator[str]:
    """Yield each word of a page that has a better one, with those around it, and what it says twice."""
    text = shown(page)
    yield from banned_on_a_page(text, "es" if '<html lang="es"' in page else "en")
    if len(SPAN.findall(text)) > 1:
        yield f"{len(SPAN.findall(text))} times what a range means"
