"""The foods on the trays can be told apart: with colour, without it, on light and dark paper."""

import re
from importlib.resources import files
from itertools import pairwise

import pytest
from django.test import Client

from drystow.web.batches.models import Item
from drystow.web.batches.traypicture import MARKS, looks_of
from drystow.web.kit import records
from tests.web.batch_rows import CARROTS, a_batch, an_item, on_tray

LEAST_CONTRAST = 3.0  # WCAG 2.2, success criterion 1.4.11, graphical objects


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def colours(folder: str, dark: bool) -> dict[str, str]:
    """The custom properties of a style sheet's light or dark root."""
    text = files("drystow.web").joinpath(folder).read_text(encoding="utf-8")
    roots = re.findall(r":root \{(.*?)\}", text, re.S)
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", roots[1 if dark else 0]))


@pytest.mark.parametrize("dark", [False, True])
def test_every_fill_stands_off_the_page_and_every_pattern_off_its_fill(dark: bool) -> None:
    paper = colours("site/static/site/app.css", dark)
    own = colours("batches/static/batches/batches.css", dark)
    fills = [own[f"food-{number}"] for number in range(len(MARKS))]
    assert len(set(fills)) == len(set(MARKS)) == len(MARKS)
    for fill in fills:
        assert contrast(fill, paper["card"]) >= LEAST_CONTRAST
        assert contrast(fill, paper["paper"]) >= LEAST_CONTRAST
        assert contrast(fill, own["food-mark"]) >= LEAST_CONTRAST


def test_64_foods_differ_in_colour_or_pattern_and_8_in_both() -> None:
    looks = list(looks_of([Item(pk=number) for number in range(1, 65)]).values())
    assert len({(look.fill, look.mark) for look in looks}) == 64
    assert len({look.mark for look in looks[:8]}) == len({look.fill for look in looks[:8]}) == 8
    assert all(one.mark != other.mark or one.fill != other.fill for one, other in pairwise(looks))


def test_two_foods_on_one_tray_are_drawn_apart_and_named_with_their_amounts(client: Client) -> None:
    batch = a_batch()
    berries, carrots = an_item(batch), an_item(batch, CARROTS, mass_kg=0.6, shape="slab", size_m=0.01)
    on_tray(berries, 1, 0.4)
    on_tray(carrots, 1, 0.4)
    on_tray(carrots, 2, 0.1)
    page = " ".join(client.get(f"/batches/{batch.pk}/trays/?units=si").content.decode().split())
    tray = re.findall(r'<svg class="tray".*?</svg>', page)[0]
    assert re.findall(r"url\(#food-(\d+)\)", tray) == [str(berries.pk), str(carrots.pk)]
    assert page.count(f'<pattern id="food-{berries.pk}"') == page.count(f'<pattern id="food-{carrots.pk}"') == 1
    assert "Carrots, raw, 500 g of 600 g" in page


def test_a_food_keeps_its_look_when_another_leaves_the_basket(client: Client) -> None:
    batch = a_batch()
    first, second = an_item(batch), an_item(batch, CARROTS)
    on_tray(second, 1, 0.4)
    before = re.findall(r"<pattern.*?</pattern>", client.get(f"/batches/{batch.pk}/trays/").content.decode(), re.S)[1]
    records.put_in_bin(first)
    after = re.findall(r"<pattern.*?</pattern>", client.get(f"/batches/{batch.pk}/trays/").content.decode(), re.S)
    assert after == [before]
