"""The trays in a real browser: tapping, dragging and the live forecast, under the strict content policy."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web.browser import Browser

ROOT = Path(__file__).parents[2]
SERVE = """
from drystow.web.server import make_server
server = make_server(port=0)
from tests.web.batch_rows import a_batch, an_item
an_item(a_batch(), mass_kg=0.8)
print(server.effective_port, flush=True)
server.run()
"""
SETTLED = " && !document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')"
DRAG = """
const data = new DataTransfer();
const from = document.querySelector("form.place"), to = document.querySelector("[data-tray='3']");
from.dispatchEvent(new DragEvent("dragstart", {bubbles: true, dataTransfer: data}));
to.dispatchEvent(new DragEvent("drop", {bubbles: true, cancelable: true, dataTransfer: data}));
"""


@pytest.fixture(scope="module")
def trays_page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of the trays of a batch with a basket, served by a process of its own."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    folder = str(tmp_path_factory.mktemp("batches"))
    process = subprocess.Popen(
        [sys.executable, "-c", SERVE],
        env=environment | {"DRYSTOW_DATA": folder, "PYTHONPATH": str(ROOT)},
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        yield f"http://127.0.0.1:{int(process.stdout.readline())}/batches/1/trays/"
    finally:
        process.terminate()
        process.communicate(timeout=20)


def test_tapping_and_dragging_show_the_forecast_without_a_new_page(browser: Browser, trays_page: str) -> None:
    browser.open(trays_page, 390)
    browser.ask("window.same = true; document.getElementById('tap-1-2').click()")
    browser.wait_for("document.body.innerText.includes('ready after')" + SETTLED)
    assert browser.ask("window.same")
    assert "All dry after about" in browser.ask("document.getElementById('said').textContent")
    browser.ask("document.querySelector('.on-tray button').click()")
    browser.wait_for("!document.body.innerText.includes('ready after')" + SETTLED)
    browser.ask(DRAG)
    browser.wait_for("document.querySelector(\"[data-tray='3']\")?.innerText.includes('ready after')")
    assert browser.console == []


@pytest.mark.parametrize("screen", ["basket/?q=carrot", "trays/", "program/", "running/", "proof/"])
@pytest.mark.parametrize("width", [390, 1280])
def test_every_screen_fits_and_can_be_touched(browser: Browser, trays_page: str, screen: str, width: int) -> None:
    browser.open(trays_page.replace("trays/", screen), width)
    assert browser.ask("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    small = (
        "[...document.querySelectorAll('main a, main button, main summary, main select')].filter(e => {"
        " const box = e.getBoundingClientRect(); return box.height > 0 && box.height < 43.5; }).map(e => e.textContent)"
    )
    assert browser.ask(small) == []
    assert browser.ask("[...document.querySelectorAll('main input:not([type=hidden])')].every(e => e.labels.length)")
    assert browser.console == []
