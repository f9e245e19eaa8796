"""Every page of a filled kitchen, wide and narrow, light and dark: it fits, it can be touched, nothing complains."""

import json
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser

from tests.browser.hand import COLOURS, RULES, Hand, faults
from tests.browser.window import Window, new_window
from tests.web.kitchen import served_by
from tests.web.lan import PASSWORD

LOOKS = ((1280, False), (1280, True), (390, False), (390, True))
PAGES = {
    "first": "/",
    "start": "/start/",
    "batches": "/batches/",
    "batch-new": "/batches/new/",
    "batch-about": "{batch-basket-at}about/",
    "basket-search": "{batch-basket-at}basket/?q=carrot",
    "basket-chosen": "{batch-basket-at}basket/?food={berries}",
    **{f"batch-{stage}": f"{{batch-{stage}}}" for stage in (
        "basket", "trays", "program", "running", "proof", "packing", "labels", "done")},
    "batch-curves": "{batch-program-at}curves/",
    "best-load": "{batch-trays-at}best-load/",
    "best-load-nothing-found": "{batch-program-at}best-load/",
    "best-program": "{batch-program-at}best-program/",
    "best-program-nothing-found": "{batch-trays-at}best-program/",
    "plans": "/plans/",
    "plan-new": "/plans/new/",
    "plan-from-file": "/plans/file/",
    "plan-lots": "{plan}lots/",
    "plan-lots-search": "{plan}lots/?q=chicken",
    "plan-lots-chosen": "{plan}lots/?food={berries}",
    "plan-lot": "{plan-lot}",
    "plan-dryers": "{plan}dryers/",
    "plan-dryer": "{plan-dryer}",
    "plan-about": "{plan}about/",
    "seasons": "/plans/seasons/",
    "season-new": "/plans/seasons/new/",
    "season": "{season}",
    "season-crops": "{season}crops/",
    "season-crops-search": "{season}crops/?q=carrot",
    "season-crops-chosen": "{season}crops/?food={berries}",
    "season-crop": "{season-crop}",
    "season-choices": "{season}dryers/",
    "season-choice": "{season-choice}",
    "season-about": "{season}about/",
    "pantry": "/pantry/",
    "pantry-add": "/pantry/add/",
    "pantry-count": "/pantry/count/",
    "pantry-list": "/pantry/list/",
    "places": "/pantry/places/",
    **{name: f"{{{name}}}" for name in (
        "place", "package", "package-used", "lot", "own-food", "own-food-edit", "table-food", "recipe-dry",
        "recipe-cook", "recipe-edit", "dryer", "dryer-edit")},
    "foods": "/foods/",
    "foods-found": "/foods/?q=apple",
    "own-food-label": "/foods/own/label/",
    "own-food-moisture": "/foods/own/moisture/",
    "recipes": "/foods/recipes/",
    "recipe-new": "/foods/recipes/new/",
    "dryers": "/dryers/",
    "dryer-sizes": "/dryers/new/",
    "costs": "/costs/",
    "settings": "/settings/",
    "history": "/history/",
    "bin": "/bin/",
    "data": "/data/",
    "tokens": "/data/tokens/",
    "accounts": "/accounts/",
    "account": "/password/",
}  # fmt: skip
FAILURES = {"error-404": ("/nowhere/", 404), "error-400": ("/refused/", 400), "error-500": ("/broken/", 500)}


class Kitchen:
    """The filled kitchen: where it is, what is in it, who is signed in."""

    def __init__(self, line: str, window: Window) -> None:
        told = json.loads(line)
        self.address, self.places, self.window = told["address"], told["places"], window
        sign_in(window, self.address, "Ana")

    def path(self, pattern: str) -> str:
        """Return an address, with the numbers of this kitchen."""
        for name, place in self.places.items():
            pattern = pattern.replace(f"{{{name}}}", place)
        return pattern


@pytest.fixture(scope="module")
def kitchen(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    with served_by("from tests.browser.filled import main; main()", tmp_path_factory.mktemp("filled")) as line:
        window = new_window(browser, 1280)
        made = Kitchen(line, window)
        hand = Hand(window, made.address, 1280)
        hand.go("/")
        window.wait_for("document.querySelector('.trays') !== null")
        yield made
        window.page.context.close()


def sign_in(window: Window, address: str, name: str) -> None:
    """Sign in as somebody."""
    hand = Hand(window, address, 1280)
    hand.go("/sign-in/")
    hand.type("[name=name]", name)
    hand.type("[name=password]", PASSWORD)
    hand.press("Sign in")


def look_at(window: Window, name: str, address: str) -> list[str]:
    """Return what is wrong with the open page in all shapes, photographing each."""
    wrong = []
    for width, dark in LOOKS:
        window.shape(width, dark=dark)
        shade = "dark" if dark else "light"
        window.picture(f"{name}-{width}-{shade}")
        wrong += [f"{width} {shade}: {line}" for line in faults(window, width, address, COLOURS if dark else RULES)]
    return wrong


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_right_in_every_shape(kitchen: Kitchen, name: str) -> None:
    kitchen.window.shape(1280)
    kitchen.window.open(f"{kitchen.address}{kitchen.path(PAGES[name])}")
    kitchen.window.wait_for("document.querySelectorAll('.htmx-request').length === 0")
    assert look_at(kitchen.window, name, kitchen.address) == []


@pytest.mark.parametrize("name", FAILURES)
def test_a_page_that_fails_is_right_too(kitchen: Kitchen, name: str) -> None:
    path, status = FAILURES[name]
    kitchen.window.shape(1280)
    kitchen.window.open(f"{kitchen.address}{path}")
    told = [line for line in kitchen.window.console if f"the server responded with a status of {status}" in line]
    assert kitchen.window.console == told
    assert len(told) == 1
    kitchen.window.console.clear()
    assert look_at(kitchen.window, name, kitchen.address) == []


def test_who_may_not_and_who_came_from_elsewhere_is_told(kitchen: Kitchen, window: Callable[..., Window]) -> None:
    shown = window(1280)
    shown.open(f"{kitchen.address}/pantry/")
    assert look_at(shown, "sign-in", kitchen.address) == []
    sign_in(shown, kitchen.address, "Ben")
    shown.open(f"{kitchen.address}/settings/")
    shown.console.clear()
    assert "Your account can’t do this" in shown.page.inner_text("h1")
    assert look_at(shown, "error-403", kitchen.address) == []
    shown.open(f"{kitchen.address}/password/")
    shown.ask("document.querySelectorAll('[name=csrfmiddlewaretoken]').forEach(field => field.remove())")
    with shown.page.expect_navigation():
        shown.page.click("form[action$='sign-out/'] button")
    shown.console.clear()
    assert "This form has expired" in shown.page.inner_text("h1")
    assert look_at(shown, "error-expired", kitchen.address) == []
