"""The first minute of the demo on a real server: nobody who looks around meets an error or writes anything."""

from pathlib import Path

from tests.web.watched import Person, crawl_together, watched_demo

AT_MOST = 40
"""So many addresses each person asks for in each language, however long that takes; `python -m tools.crawl_demo` goes
on until the year is there, and asks for every one once more after it."""


def test_looking_at_every_page_while_the_demo_is_being_filled(tmp_path: Path) -> None:
    with watched_demo(tmp_path) as served:
        looking = [Person(served, name, units) for name in ("Ana", "Ben") for units in ("us", "si")]
        crawls = []
        for language in ("en", "es"):
            assert looking[0].send("/settings/", {"language": language, "people": "4"}).status == 302
            crawls += crawl_together(looking, 1, most=AT_MOST)
        visits = [visit for crawl in crawls for visit in crawl.visits]
        assert [visit for crawl in crawls for visit in crawl.broken] == []
        worse = sorted({words for crawl in crawls for words in crawl.worse})
        assert not worse, "\n".join(worse)
        assert served.written() == []
        assert "Traceback" not in served.complaints(), served.complaints()
        assert all(len(crawl.visits) == AT_MOST for crawl in crawls), [crawl.statuses for crawl in crawls]
        assert all(crawl.statuses[200] > 3 for crawl in crawls), [crawl.statuses for crawl in crawls]
        assert len({visit.name for visit in visits}) > 20
