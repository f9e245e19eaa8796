"""The trays in a real browser: tapping, dragging and the live forecast, under the strict content policy."""

from collections.abc import Callable, Iterator

import pytest

from tests.browser.window import Window
from tests.web.house import served_by

SERVE = """
from drystow.web.server import make_server
server = make_server(port=0)
from tests.web.batch_rows import a_batch, an_item
an_item(a_batch(), mass_kg=0.8)
print(server.effective_port, flush=True)
server.run()
"""
SETTLED = " && !document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')"


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
    shown.wait_for("document.body.innerText.includes('ready after')" + SETTLED)
    assert shown.ask("window.same")
    assert "All dry after about" in shown.ask("document.getElementById('said').textContent")
    shown.page.click(".on-tray button")
    shown.wait_for("!document.body.innerText.includes('ready after')" + SETTLED)
    shown.page.drag_and_drop("form.place h3", "[data-tray='3']")
    shown.wait_for("document.querySelector(\"[data-tray='3']\")?.innerText.includes('ready after')")
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
        "[...document.querySelectorAll('main a, main button, main summary, main select')].filter(e => {"
        " const box = e.getBoundingClientRect(); return box.height > 0 && box.height < 43.5; }).map(e => e.textContent)"
    )
    assert shown.ask(small) == []
    assert shown.ask("[...document.querySelectorAll('main input:not([type=hidden])')].every(e => e.labels.length)")
    assert shown.console == []
