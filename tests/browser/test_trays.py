"""The trays in a real browser: tapping, dragging and the live forecast, under the strict content policy."""

from collections.abc import Callable, Iterator

import pytest

from tests.browser.window import Window
from tests.web.kitchen import served_by

SERVE = """
from drystow.web.server import make_server
server = make_server(port=0)
from tests.web.batch_rows import a_batch, an_item
an_item(a_batch(), mass_kg=0.8)
print(server.effective_port, flush=True)
server.run()
"""
SETTLED = " && !document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')"
SAYS_WHEN = "/dry after \\d/.test({})"
READY = SAYS_WHEN.format("document.querySelector(\"[data-tray='{}']\")?.innerText") + SETTLED
ANY_READY = SAYS_WHEN.format("document.body.innerText") + SETTLED
NONE_READY = "!" + ANY_READY


@pytest.fixture(scope="module")
def trays_page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the trays of a batch with a basket, served by a process of its own."""
    with served_by(SERVE, tmp_path_factory.mktemp("batches")) as port:
        yield f"http://127.0.0.1:{int(port)}/batches/1/trays/"


def test_tapping_and_dragging_show_the_forecast_without_a_new_page(
    window: Callable[..., Window], trays_page: str
) -> None:
    shown = window(390)
    shown.open(trays_page)
    shown.ask("window.same = true")
    shown.page.click("#tap-1-2")
    shown.wait_for(ANY_READY)
    assert shown.ask("window.same")
    assert "All dry after about" in shown.ask("document.getElementById('said').textContent")
    shown.page.click(".on-tray [data-does=take]")
    shown.wait_for(NONE_READY)
    assert shown.console == []


def drag(shown: Window, chip: str, place: str, touch: bool) -> None:
    """Drag with a mouse, or with the touch events of a tablet."""
    if not touch:
        shown.page.drag_and_drop(chip, place)
        return
    shown.page.locator(chip).scroll_into_view_if_needed()
    boxes = [shown.page.locator(one).bounding_box() for one in (chip, place)]
    (x, y), end = ((box["x"] + box["width"] / 2, box["y"] + box["height"] / 2) for box in boxes if box)
    finger = shown.page.context.new_cdp_session(shown.page)
    for kind, points in (
        ("touchStart", [{"x": x, "y": y}]),
        ("touchMove", [{"x": x + 20, "y": y}]),
        ("touchMove", [{"x": end[0], "y": end[1]}]),
        ("touchEnd", []),
    ):
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


@pytest.mark.parametrize("touch", [False, True])
def test_food_is_dragged_onto_a_tray_to_another_and_off(
    window: Callable[..., Window], trays_page: str, touch: bool
) -> None:
    shown = window(1280)
    shown.open(trays_page)
    drag(shown, "form.place .chip", "[data-tray='3']", touch)
    shown.wait_for(READY.format(3))
    drag(shown, "[data-tray='3'] .chip", "[data-tray='1']", touch)
    shown.wait_for(READY.format(1))
    assert "empty" in shown.ask("document.querySelector(\"[data-tray='3']\").innerText")
    assert shown.ask("document.querySelectorAll('.ghost, .target').length") == 0
    drag(shown, "[data-tray='1'] .chip", "[data-off] h2", touch)
    shown.wait_for(NONE_READY)
    assert shown.console == []


def test_a_tapped_food_goes_to_the_tapped_tray_and_escape_lets_go(
    window: Callable[..., Window], trays_page: str
) -> None:
    shown = window(390)
    shown.open(trays_page)
    shown.page.click("form.place .chip")
    assert "now choose a tray" in shown.ask("document.getElementById('said').textContent")
    assert shown.ask("document.querySelectorAll('.here:not([hidden])').length") == 4
    shown.page.keyboard.press("Escape")
    assert shown.ask("document.querySelectorAll('.here:not([hidden])').length") == 0
    shown.page.click("form.place .chip")
    shown.page.click("[data-tray='2'] .here")
    shown.wait_for(READY.format(2))
    shown.page.focus("[data-tray='2'] .chip")
    shown.page.keyboard.press("Enter")
    shown.page.focus("[data-tray='4'] .here")
    shown.page.keyboard.press("Enter")
    shown.wait_for(READY.format(4))
    shown.page.click(".on-tray [data-does=take]")
    shown.wait_for(NONE_READY)
    assert shown.console == []


def test_enter_in_a_field_does_what_the_form_is_for_and_removes_nothing(
    window: Callable[..., Window], trays_page: str
) -> None:
    shown = window(1280)
    shown.open(trays_page)
    shown.page.click("#tap-1-2")
    shown.wait_for(READY.format(2))
    shown.page.click("[data-tray='2'] summary")
    shown.page.focus("[data-tray='2'] [name=mass]")
    shown.page.keyboard.press("Enter")
    shown.wait_for(READY.format(1))
    shown.page.click(".on-tray [data-does=take]")
    shown.wait_for(NONE_READY)
    shown.open(trays_page.replace("trays", "program"))
    steps = "document.querySelectorAll('fieldset.step button').length"
    before = shown.ask(steps)
    assert before >= 2
    shown.page.focus("fieldset.step input")
    with shown.page.expect_navigation():
        shown.page.keyboard.press("Enter")
    assert shown.ask(steps) == before
    assert shown.console == []


@pytest.mark.parametrize("screen", ["basket/?q=carrot", "trays/", "program/", "running/", "proof/"])
@pytest.mark.parametrize("width", [390, 1280])
def test_every_screen_fits_and_can_be_touched(
    window: Callable[..., Window], trays_page: str, screen: str, width: int
) -> None:
    shown = window(width)
    shown.open(trays_page.replace("trays/", screen))
    assert shown.ask("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    small = (
        "[...document.querySelectorAll('main a, main button:not([aria-hidden]), main summary, main select')]"
        ".filter(e => {"
        " const box = e.getBoundingClientRect(); return box.height > 0 && box.height < 43.5; }).map(e => e.textContent)"
    )
    assert shown.ask(small) == []
    assert shown.ask("[...document.querySelectorAll('main input:not([type=hidden])')].every(e => e.labels.length)")
    assert shown.console == []
