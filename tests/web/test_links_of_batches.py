"""A page of a batch links only to what is there, whether it is packed already or not."""

import re
from datetime import UTC, datetime

import pytest
from django.test import Client

from drystow.web.batches.models import Batch
from drystow.web.demo.fill import fill

PAGES = ("packing", "labels", "done")
FILE = re.compile(r"\.(pdf|toml|csv|xlsx|zip|ics)\b|^/static/")


@pytest.fixture
def kitchen() -> list[Batch]:
    fill(batches=11, now=datetime(2026, 6, 14, 10, 30, tzinfo=UTC))
    return list(Batch.objects.all())


def test_no_link_on_a_page_of_a_batch_leads_nowhere(client: Client, kitchen: list[Batch]) -> None:
    links: dict[str, str] = {}
    for batch in kitchen:
        for name in PAGES:
            page = f"/batches/{batch.pk}/{name}/"
            answer = client.get(page)
            assert answer.status_code == 200, page
            links |= dict.fromkeys(re.findall(r'href="(/[^"#]*)', answer.content.decode()), page)
    asked = {link for link in links if not FILE.search(link)}
    assert len(asked) > 100
    assert [
        (links[link], link) for link in sorted(asked) if client.get(link.replace("&amp;", "&")).status_code == 404
    ] == []
    packed = {batch.lot for batch in kitchen if batch.packages.exists()}
    assert {link.split("/")[3] for link in links if link.startswith("/pantry/lot/")} == packed != set()
    assert len(packed) < len(kitchen)
