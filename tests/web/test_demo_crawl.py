"""The first minute of the demo on a real server: nobody who looks around meets an error or writes anything."""

import time
from pathlib import Path

from tests.web.watched import Person, crawl_together, watched_demo

AT_MOST = 12.0
"""So long people look around in each language [s]; `python -m tools.crawl_demo` does so until the year is there, and
once more after it."""


def test_looking_at_every_page_while_the_demo_is_being_filled(tmp_path: Path) -> None:
    with watched_demo(tmp_path) as served:
        looking = [Person(served, name, units) for name in ("Ana", "Ben") for units in ("us", "si")]
        crawls = []
        for language in ("en", "es"):
            assert looking[0].send("/settings/", {"language": language, "people": "4"}).status == 302
            until = time.monotonic() + AT_MOST
            crawls += crawl_together(looking, 1, lambda until=until: time.monotonic() > until)
        visits = [visit for crawl in crawls for visit in crawl.visits]
        assert [visit for crawl in crawls for visit in crawl.broken] == []
        worse = sorted({words for crawl in crawls for words in crawl.worse})
        assert not worse, "\n".join(worse)
        assert served.written() == []
        assert "Traceback" not in served.complaints(), served.complaints()
        assert all(crawl.statuses[200] > 3 for crawl in crawls), [crawl.statuses for crawl in crawls]
        assert len({visit.name for visit in visits}) > 20
