"""A newcomer plans a load of three foods and prints its labels, led only by what stands on the screen."""

from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from tests.browser.hand import faults
from tests.browser.window import Window
from tests.web.kitchen import work_of

FOODS = {"strawberries": "Strawberries, raw", "carrots": "Carrots, raw", "apples": "Apples, raw, without skin"}
MOST_STEPS = 26
MOST_WORK = 60.0  # of the server meanwhile, with the demo year that it writes beside [s of a processor]


class Newcomer:
    """Presses and fills in what is named on the screen, and counts."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.steps: list[str] = []

    def press(self, words: str, *, leaves: bool = True) -> None:
        """Press the first link or button of this name.

        leaves: a new page comes, which is waited for: what is written into the old one meanwhile would be lost
        """
        self.steps.append(f"press '{words}'")
        named = [self.page.get_by_role(role, name=words, exact=True) for role in ("link", "button")]
        target = named[0].or_(named[1]).first
        if leaves:
            target.wait_for()
            with self.page.expect_navigation():
                target.click()
        else:
            target.click()

    def write(self, label: str, words: str) -> None:
        """Write into the field of this label."""
        self.steps.append(f"write '{words}' into '{label}'")
        self.page.get_by_label(label, exact=True).fill(words)

    def tick(self, label: str) -> None:
        """Tick the box of this label."""
        self.steps.append(f"tick '{label}'")
        self.page.get_by_label(label, exact=True).check()


@pytest.mark.parametrize("width", [390, 1280])
def test_a_newcomer_comes_from_the_first_page_to_labels(
    served_demo: str, window: Callable[..., Window], width: int
) -> None:
    shown = window(width)
    me = Newcomer(shown.page)
    shown.open(served_demo)
    before = work_of(served_demo)
    me.press("Plan a batch of your own")
    me.write("What are you drying?", "My first batch")
    me.press("Start")
    for search, name in FOODS.items():
        me.write("Which food?", search)
        me.press(name)
        me.write("How much", "1 lb")
        me.press("Add to basket")
    me.press("Next: trays")
    me.press("Spread everything evenly", leaves=False)
    shown.page.get_by_text("All dry after about").first.wait_for()
    me.press("Next: program")
    me.press("Food is in: start now")
    me.press("End the run")
    me.tick("Move on to packing without knowing that it is dry. This is saved with the batch.")
    me.press("Next: packing")
    for _ in FOODS:
        me.press("Pack")
    shown.page.get_by_role("button", name="Labels (PDF)").wait_for()
    wrong = faults(shown, width, served_demo)
    with shown.page.expect_navigation(url="**/labels.pdf*"):
        me.press("Labels (PDF)", leaves=False)  # waited for here, by its address
    work = work_of(served_demo) - before
    sent = shown.page.context.request.get(shown.page.url)
    words = "".join(page.extract_text() for page in PdfReader(BytesIO(sent.body())).pages)
    assert all(name.split(",")[0] in words for name in FOODS.values()), words
    assert len(me.steps) <= MOST_STEPS, me.steps
    assert work < MOST_WORK
    print(f"{len(me.steps)} steps, {work:.0f} s of the server's work:", *me.steps, sep="\n")
    assert wrong == []
