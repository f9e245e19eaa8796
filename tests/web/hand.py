"""A person's hand in the browser: types, presses, and looks at every page it comes to."""

import json
import time
from pathlib import Path
from typing import Any

from tests.web.browser import Browser

ROOT = Path(__file__).parents[2]
PICTURES = ROOT / "out" / "screens"
AXE = Path(__file__).parent / "axe" / "node_modules" / "axe-core" / "axe.min.js"
GRAVE = ("serious", "critical")
SMALL = """Array.from(document.querySelectorAll('main a, main button, main input, main select, header a')).filter(a => {
  const box = a.getBoundingClientRect();
  return box.width && !a.closest('.unseen, p, li, td, dd') && !['checkbox', 'radio', 'hidden'].includes(a.type)
    && box.height < 43.5 }).map(a => a.outerHTML.slice(0, 90))"""
"""What a finger touches, links within sentences left out, lower than 44 px."""
PRESSED = """(words, part) => {
  const said = a => a.textContent.trim().replace(/\\s+/g, ' ');
  const all = Array.from(part.querySelectorAll('a, button, summary'));
  return all.find(a => said(a) === words) || all.find(a => said(a).startsWith(words)) }"""
"""What says exactly these words, else what begins with them."""


class Hand:
    """Drives one browser window of one width at one server."""

    def __init__(self, browser: Browser, address: str, width: int) -> None:
        self.browser, self.address, self.width = browser, address.rstrip("/"), width
        self.wrong: list[str] = []
        assert AXE.exists(), "accessibility rules are missing: npm ci --prefix tests/web/axe --ignore-scripts"

    def go(self, path: str) -> None:
        """Open an address of the server."""
        self.browser.open(f"{self.address}{path}", self.width)

    def type(self, selector: str, words: str) -> None:
        """Replace what stands in an input by typing."""
        self.browser.ask(f"(() => {{ const box = {_one(selector)}; box.focus(); box.select(); }})()")
        self.browser.call("Input.insertText", text=words)
        assert self.browser.ask(f"{_one(selector)}.value") == words

    def choose(self, selector: str, value: str) -> None:
        """Choose a value of a list."""
        script = f"{_one(selector)}.value = {json.dumps(value)};"
        self.browser.ask(f"{script} {_one(selector)}.dispatchEvent(new Event('change', {{bubbles: true}}))")
        assert self.browser.ask(f"{_one(selector)}.value") == value

    def press(self, words: str, within: str = "main", *, leaves: bool = True) -> None:
        """Press the button or link that says, or begins with, these words, with the mouse, where it is on the screen.

        leaves: a new page comes, which is waited for
        """
        found = f"({PRESSED})({json.dumps(words)}, document.querySelector({json.dumps(within)}))"
        assert self.browser.ask(f"{found} !== undefined"), f"'{words}' is not on {self.where}"
        place = self.browser.ask(
            f"(() => {{ const a = {found}; a.scrollIntoView({{block: 'center', behavior: 'instant'}});"
            " const box = a.getBoundingClientRect(); const x = box.x + box.width / 2, y = box.y + box.height / 2;"
            " return {x, y, free: a.contains(document.elementFromPoint(x, y))}; })()"
        )
        assert place["free"], f"something lies over '{words}' on {self.where}"
        self.browser.ask("window.before = true")
        for kind in ("mousePressed", "mouseReleased"):
            self.browser.call(
                "Input.dispatchMouseEvent", type=kind, x=place["x"], y=place["y"], button="left", clickCount=1
            )
        if leaves:
            self.settled()

    def settled(self) -> None:
        """Wait until another page has come."""
        end = time.monotonic() + 60
        while time.monotonic() < end:
            answer = self.browser.call(
                "Runtime.evaluate", expression="!window.before && document.readyState === 'complete'"
            )
            if answer["result"].get("value") is True:
                return
            time.sleep(0.05)
        raise AssertionError(f"no other page came after {self.where}")

    def look(self, name: str) -> None:
        """Photograph the page and note what is wrong with it: too wide, complaints, strangers, small targets, axe."""
        ask = self.browser.ask
        ask("window.scrollTo(0, 0)")
        PICTURES.mkdir(parents=True, exist_ok=True)
        self.browser.picture(PICTURES / f"{name}-{self.width}.png")
        wrong = [f"the console says {line}" for line in self.browser.console]
        wide = ask("document.documentElement.scrollWidth")
        wrong += [f"{wide} wide"] if wide > self.width else []
        wrong += [f"loads {url}" for url in self.browser.asked if not url.startswith((self.address, "data:", "blob:"))]
        wrong += [] if ask("document.querySelectorAll('h1').length") == 1 else ["not one heading"]
        wrong += [f"too small for a finger: {target}" for target in ask(SMALL)]
        wrong += grave_findings(self.browser)
        self.wrong += [f"{name}: {line}" for line in wrong]
        self.browser.console.clear()
        self.browser.asked.clear()

    @property
    def where(self) -> str:
        """Path of the page that is open."""
        return str(self.browser.ask("location.pathname"))

    @property
    def text(self) -> str:
        """What the page says."""
        return str(self.browser.ask("document.querySelector('main').innerText"))


def grave_findings(browser: Browser) -> list[str]:
    """Return what breaks the rules of WCAG 2.2 AA gravely on the page that is open, as axe-core sees it."""
    if not browser.ask("typeof window.axe === 'object'"):
        browser.call("Runtime.evaluate", expression=AXE.read_text(encoding="utf-8"))
    tags = json.dumps(["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"])
    answer: dict[str, Any] = browser.call(
        "Runtime.evaluate",
        expression=f"axe.run(document, {{runOnly: {tags}, resultTypes: ['violations']}}).then(found =>"
        " found.violations.map(v => ({id: v.id, impact: v.impact, nodes: v.nodes.map(n => n.html.slice(0, 160) +"
        " ' | ' + n.any.concat(n.all, n.none).map(c => c.message).join(' '))})))",
        awaitPromise=True,
        returnByValue=True,
    )
    assert "exceptionDetails" not in answer, answer
    return [
        f"{finding['id']} ({finding['impact']}): {node}"
        for finding in answer["result"]["value"]
        if finding["impact"] in GRAVE
        for node in finding["nodes"][:4]
    ]


def _one(selector: str) -> str:
    return f"document.querySelector({json.dumps(selector)})"
