"""The first page in a real browser."""

import pytest

from tests.web.browser import Browser

WIDTHS = (390, 768, 1280)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_page_fits_its_screen_without_complaints(
    served_demo: str, browser: Browser, width: int, dark: bool
) -> None:
    browser.open(served_demo, width, dark=dark)
    assert browser.ask("document.documentElement.scrollWidth") <= width
    assert browser.ask("window.innerWidth") == width
    shown = "Array.from(document.querySelectorAll('.chart svg')).filter(s => s.getBoundingClientRect().width > 0)"
    assert browser.ask(f"{shown}.length") == 2
    assert browser.ask(
        f"{shown}.every(s => s.getBoundingClientRect().width > 0.8 * document.querySelector('main').clientWidth)"
    )
    assert browser.console == []
    assert browser.asked
    assert all(address.startswith(served_demo) for address in browser.asked), browser.asked


def test_what_a_finger_touches_is_large_enough(served_demo: str, browser: Browser) -> None:
    browser.open(served_demo, 390)
    small = browser.ask(
        "Array.from(document.querySelectorAll('a:not(.skip), button')).filter(a => {"
        " const box = a.getBoundingClientRect(); return box.height < 44 || box.width < 44 }).map(a => a.textContent)"
    )
    assert small == []


def test_the_unit_switch_exchanges_the_part_and_keeps_the_focus(served_demo: str, browser: Browser) -> None:
    browser.open(served_demo + "?units=us", 390)
    browser.ask("window.sameDocument = true; document.getElementById('units-si').focus();"
                " document.getElementById('units-si').click()")  # fmt: skip
    browser.wait_for("document.querySelector('#units-si[aria-current]') !== null")
    assert browser.ask("window.sameDocument") is True
    assert browser.ask("document.activeElement.id") == "units-si"
    assert browser.ask("document.querySelectorAll('main').length") == 1
    assert "kg" in browser.ask("document.querySelector('.trays').innerText")
    assert browser.ask("location.search") == "?units=si"
    assert browser.console == []


def test_the_charts_change_colour_on_a_dark_screen(served_demo: str, browser: Browser) -> None:
    colours = []
    for dark in (False, True):
        browser.open(served_demo, 1280, dark=dark)
        colours.append(
            browser.ask("getComputedStyle(document.querySelector('.chart.wide [data-stroke=\"line-1\"]')).stroke")
        )
    assert colours[0] != colours[1]


def test_the_keyboard_sees_where_it_is(served_demo: str, browser: Browser) -> None:
    browser.open(served_demo, 1280)
    for kind in ("keyDown", "keyUp"):
        browser.call("Input.dispatchKeyEvent", type=kind, key="Tab", code="Tab", windowsVirtualKeyCode=9)
    assert browser.ask("document.activeElement.className") == "skip"
    assert browser.ask("document.activeElement.getBoundingClientRect().left") >= 0
    assert browser.ask("parseFloat(getComputedStyle(document.activeElement).outlineWidth)") >= 3
