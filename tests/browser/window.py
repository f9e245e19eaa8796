"""One window of a real Chromium: Playwright drives it, and we keep what its console said and what it asked for."""

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.patience import PATIENCE, until

SWITCHES = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
SCREENS = os.environ.get("DRYSTOW_SCREENS", "")
"""Folder into which every screen that a test looks at is photographed; none without it."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Give the browser of this computer until the end of the block."""
    program = shutil.which("chromium")
    if program is None:
        pytest.fail("The browser tests need chromium: apt-get install chromium", pytrace=False)
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=program, args=list(SWITCHES))
        yield running
        running.close()


@dataclass
class Window:
    """A page of the browser with its notes."""

    page: Page
    console: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.set_default_timeout(PATIENCE * 1000)
        self.page.on("console", lambda message: self.console.append(f"{message.type}: {message.text}"))
        self.page.on("pageerror", lambda problem: self.console.append(f"exception: {problem}"))
        self.page.on("request", lambda request: self.asked.append(request.url))

    def open(self, address: str) -> None:
        """Show a page, with empty notes."""
        self.console.clear()
        self.asked.clear()
        self.page.goto(address)

    def shape(self, width: int, *, dark: bool = False) -> None:
        """Make the window this wide, light or dark."""
        self.page.set_viewport_size({"width": width, "height": 900})
        self.page.emulate_media(color_scheme="dark" if dark else "light")

    def ask(self, script: str) -> Any:
        """Return the value of a script on the page."""
        return self.page.evaluate(script)

    def wait_for(self, script: str) -> None:
        """Wait until a script on the page is true; not by Playwright's own waiting, which the content policy stops."""
        until(lambda: self.ask(script), f"never came true: {script}", pause=lambda: self.page.wait_for_timeout(50))

    def picture(self, name: str) -> None:
        """Photograph the whole page when somebody wants pictures."""
        if SCREENS:
            self.page.screenshot(path=Path(SCREENS) / f"{re.sub(r'[^a-z0-9-]+', '-', name)}.png", full_page=True)


def new_window(browser: Browser, width: int, *, dark: bool = False) -> Window:
    """Return a window with cookies of its own."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme="dark" if dark else "light", is_mobile=width < 600
    )
    return Window(context.new_page())
