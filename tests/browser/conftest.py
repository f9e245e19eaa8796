"""One browser for all tests of this folder, a window with cookies of its own for each of them.

Playwright keeps an event loop in this thread while it runs, which Django refuses to work beside; so these tests know
the pages only from outside, and the browser is gone before any other folder's tests begin.
"""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.window import Window, chromium, new_window
from tests.web.kitchen import served_demo_in


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture
def window(browser: Browser) -> Iterator[Callable[..., Window]]:
    """Opens windows of a width, dark or light, and closes them after the test."""
    opened: list[Window] = []

    def open_window(width: int, *, dark: bool = False) -> Window:
        opened.append(new_window(browser, width, dark=dark))
        return opened[-1]

    yield open_window
    for one in opened:
        one.page.context.close()


@pytest.fixture(scope="package")
def served_demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a server with the demo, as `drystow serve --demo` starts it."""
    with served_demo_in(tmp_path_factory.mktemp("served")) as address:
        yield address
