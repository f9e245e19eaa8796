"""The first page in a real browser."""

from collections.abc import Callable

import pytest

from tests.browser.window import Window

WIDTHS = (390, 768, 1280)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_fits_its_screen_without_complaints(
    served_demo: str, window: Callable[..., Window], width: int, dark: bool
) -> None:
    shown = window(width, dark=dark)
    shown.open(served_demo)
    assert shown.ask("document.documentElement.scrollWidth") <= width
    assert shown.ask("window.innerWidth") == width
    charts = "Array.from(document.querySelectorAll('.chart svg')).filter(s => s.getBoundingClientRect().width > 0)"
    assert shown.ask(f"{charts}.length") == shown.ask("document.querySelectorAll('.charts figure').length") > 1
    assert shown.ask(
        f"{charts}.every(s => s.getBoundingClientRect().width > 0.8 * document.querySelector('main').clientWidth)"
    )
    assert shown.console == []
    assert shown.asked
    assert all(address.startswith(served_demo) for address in shown.asked), shown.asked


def test_what_a_finger_touches_is_large_enough(served_demo: str, window: Callable[..., Window]) -> None:
    shown = window(390)
    shown.open(served_demo)
    shown.ask("document.querySelectorAll('details').forEach(one => { one.open = true })")
    small = shown.ask(
        "Array.from(document.querySelectorAll('a:not(.skip), button')).filter(a => {"
        " const box = a.getBoundingClientRect(); return a.checkVisibility() && (box.height < 44 || box.width < 44) })"
        ".map(a => a.textContent)"
    )
    assert small == []


def test_the_unit_switch_exchanges_the_part_and_keeps_the_focus(
    served_demo: str, window: Callable[..., Window]
) -> None:
    shown = window(390)
    shown.open(served_demo + "?units=us")
    shown.ask("window.sameDocument = true")
    shown.page.locator("#units-si").focus()
    shown.page.keyboard.press("Enter")
    shown.wait_for("document.querySelector('#units-si[aria-current]') !== null")
    assert shown.ask("window.sameDocument") is True
    assert shown.ask("document.activeElement.id") == "units-si"
    assert shown.ask("document.querySelectorAll('main').length") == 1
    assert "kg" in shown.ask("document.querySelector('.trays').innerText")
    assert shown.ask("location.search") == "?units=si"
    assert shown.console == []


def test_the_charts_change_colour_on_a_dark_screen(served_demo: str, window: Callable[..., Window]) -> None:
    colours = []
    for dark in (False, True):
        shown = window(1280, dark=dark)
        shown.open(served_demo)
        colours.append(
            shown.ask("getComputedStyle(document.querySelector('.chart.wide [data-stroke=\"line-1\"]')).stroke")
        )
    assert colours[0] != colours[1]


def test_the_keyboard_sees_where_it_is(served_demo: str, window: Callable[..., Window]) -> None:
    shown = window(1280)
    shown.open(served_demo)
    shown.page.keyboard.press("Tab")
    assert shown.ask("document.activeElement.className") == "skip"
    assert shown.ask("document.activeElement.getBoundingClientRect().left") >= 0
    assert shown.ask("parseFloat(getComputedStyle(document.activeElement).outlineWidth)") >= 3
