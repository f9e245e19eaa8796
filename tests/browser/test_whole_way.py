"""From an empty database to a package opened by the address in its square code, in a real browser."""

import os
import re
import subprocess
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.hand import Hand
from tests.browser.window import Window
from tests.cli.run import COMMAND
from tests.patience import PATIENCE
from tests.web.kitchen import served
from tests.web.lan import PASSWORD

WIDTHS = (390, 1280)


@pytest.mark.parametrize("width", WIDTHS)
def test_one_batch_goes_the_whole_way(window: Callable[..., Window], tmp_path: Path, width: int) -> None:
    with served(tmp_path) as address:
        hand = Hand(window(width), address, width)
        empty_pages(hand)
        dryer_and_place(hand)
        batch = basket_and_trays(hand)
        program_and_run(hand, batch)
        code = pack_and_label(hand, batch)
        open_by_code(hand, code)
        every_other_page(hand, batch)
        assert hand.wrong == []


@pytest.mark.parametrize("width", WIDTHS)
def test_a_tablet_in_the_kitchen_signs_in_and_out(window: Callable[..., Window], tmp_path: Path, width: int) -> None:
    add = [COMMAND, "account", "add", "ana", "--role", "owner", "--password-stdin"]
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    environment["DRYSTOW_DATA"] = str(tmp_path)
    subprocess.run(add, input=PASSWORD, text=True, env=environment, check=True, capture_output=True, timeout=PATIENCE)
    with served(tmp_path, lan=True) as address:
        hand = Hand(window(width), address, width)
        hand.go("/pantry/")
        assert hand.where == "/sign-in/"
        hand.look("sign-in")
        hand.type("[name=name]", "ana")
        hand.type("[name=password]", "a guess that is wrong")
        hand.press("Sign in")
        assert "Name and password don’t match" in hand.text
        hand.type("[name=password]", PASSWORD)
        hand.press("Sign in")
        assert hand.where == "/pantry/"
        hand.press("ana", "header")
        hand.look("account")
        hand.press("Accounts")
        hand.look("accounts")
        hand.go("/password/")
        hand.press("Sign out")
        assert hand.where == "/sign-in/"
        hand.go("/pantry/")
        assert hand.where == "/sign-in/"
        assert hand.wrong == []


def empty_pages(hand: Hand) -> None:
    """Every page says what to do next while nothing is there."""
    places = (
        "batches", "batches/new", "pantry", "pantry/places", "foods", "foods/recipes", "dryers", "costs", "settings",
        "history", "bin", "start", "data",
    )  # fmt: skip
    for place in places:
        hand.go(f"/{place}/")
        hand.look(f"empty-{place.replace('/', '-')}")


def dryer_and_place(hand: Hand) -> None:
    """A dryer by its nearest size, and a shelf for the packages."""
    hand.go("/batches/new/")
    hand.press("Add a dryer first")
    hand.press("Add a dryer")
    hand.look("dryer-size")
    hand.press("Start with this")
    hand.look("dryer-new")
    hand.type("[name=name]", "Pantry dryer")
    hand.press("Save")
    assert "Pantry dryer" in hand.text
    hand.look("dryer")
    hand.go("/pantry/places/")
    hand.type("[name=name]", "Cellar shelf")
    hand.type("[name=warm]", "61 °F")
    hand.press("Add")
    assert "Cellar shelf" in hand.text


def basket_and_trays(hand: Hand) -> str:
    """Two foods from the table, spread over the trays; the number of the batch."""
    hand.go("/batches/new/")
    hand.type("[name=title]", "Berries and carrots")
    hand.press("Start")
    batch = re.search(r"/batches/(\d+)/", hand.where)
    assert batch is not None
    for words, mass, size in (("strawberries raw", "3 lb", "10 mm"), ("carrots raw", "2 lb", "8 mm")):
        hand.go(f"/batches/{batch[1]}/basket/")
        hand.type("#q", words)
        hand.window.wait_for("document.querySelector('#found a') !== null")
        hand.window.wait_for("document.querySelectorAll('.htmx-request').length === 0")
        hand.press(hand.window.ask("document.querySelector('#found a').textContent.trim()"), "#found")
        hand.look("basket-add")
        hand.type("#add [name=mass]", mass)
        hand.type("#add [name=size]", size)
        hand.press("Add to basket")
    hand.look("basket")
    hand.press("Next: trays")
    hand.press("Spread everything evenly", leaves=False)
    hand.window.wait_for("document.querySelectorAll('.on-tray').length > 2")
    hand.look("trays")
    assert re.search(r"dry after \d|All dry after", hand.text)
    hand.press("Next: program")
    return batch[1]


def program_and_run(hand: Hand, batch: str) -> None:
    """Start, weigh twice, note a piece cut open, end."""
    assert "Dry after" in hand.text
    hand.look("program")
    hand.press("Food is in: start now")
    assert hand.where.endswith("/running/")
    for gross in ("1540 g", "1539 g"):
        hand.type("#weigh [name=gross]", gross)
        hand.type("#weigh [name=tare]", "1460 g")
        hand.press("Save weight", "#weigh")
    assert hand.window.ask("document.querySelectorAll('#weigh tbody tr').length") == 2
    hand.type("#happenings [name=text]", "All quiet at noon")
    hand.press("Save", "#happenings")
    assert "All quiet at noon" in hand.text
    hand.look("running")
    hand.type("#end [name=energy]", "21 kWh")
    hand.press("End the run", "#end")
    hand.go(f"/batches/{batch}/proof/")
    hand.look("proof")
    hand.press("Save", "#core")
    assert "the same all through" in hand.text
    hand.page.locator("#pack-all-the-same").check()
    hand.press("Next: packing")


def pack_and_label(hand: Hand, batch: str) -> str:
    """Pack both foods as proposed, print labels, finish; the code of a package."""
    assert hand.where == f"/batches/{batch}/packing/"
    hand.press("I opened the chamber now")
    hand.look("packing")
    hand.press("Pack")
    hand.press("Pack")
    assert hand.where == f"/batches/{batch}/labels/"
    hand.look("labels")
    with urllib.request.urlopen(
        f"{hand.address}/batches/{batch}/labels.pdf?sheet=letter-3x10", timeout=PATIENCE
    ) as answer:
        assert answer.read(5) == b"%PDF-"
    links = hand.window.ask("Array.from(document.querySelectorAll('.codes a')).map(a => new URL(a.href).pathname)")
    hand.press("I’ve put the labels on")
    assert hand.where == f"/batches/{batch}/done/"
    hand.look("done")
    hand.press("Finish this batch")
    hand.go("/batches/")
    hand.look("batches")
    return str(links[0])


def open_by_code(hand: Hand, path: str) -> None:
    """The address in the square code of the label opens the package; open it and use some."""
    hand.go(path)
    hand.look("package")
    before = hand.text
    assert "in a sealed package" in before
    hand.press("Open")
    assert "open" in hand.text
    hand.look("package-open")
    hand.go("/pantry/")
    hand.look("pantry")


def every_other_page(hand: Hand, batch: str) -> None:
    """The pages that the way does not pass."""
    hand.go(f"/batches/{batch}/about/")
    hand.look("batch-about")
    for place in (
        "pantry/list",
        "pantry/count",
        "pantry/add",
        "costs",
        "history",
        "foods/recipes/new",
        "foods/own/label",
    ):
        hand.go(f"/{place}/")
        hand.look(place.replace("/", "-"))
