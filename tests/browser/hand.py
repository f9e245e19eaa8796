"""A person's hand in the browser: types, presses, and looks at every page it comes to."""

import json
import re
from pathlib import Path

from playwright.sync_api import Locator

from tests.browser.window import Window

AXE = Path(__file__).parents[1] / "web" / "axe" / "node_modules" / "axe-core" / "axe.min.js"
COLOURS = ("color-contrast", "link-in-text-block")
"""What may change when a screen turns dark."""
GRAVE = ("serious", "critical")
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
SMALL = """Array.from(document.querySelectorAll(
    'main a, main button, main input, main select, main summary, header a')).filter(a => {
  const box = a.getBoundingClientRect();
  return box.width && !a.closest('.unseen, p, li, td, dd') && !['checkbox', 'radio', 'hidden'].includes(a.type)
    && box.height < 43.5 }).map(a => a.outerHTML.slice(0, 90))"""
"""What a finger touches, links within sentences left out, lower than 44 px."""
UNNAMED = """Array.from(document.querySelectorAll('main input:not([type=hidden]), main select, main textarea'))
  .filter(e => !e.hidden && !e.labels.length && !e.ariaLabel).map(e => e.outerHTML.slice(0, 90))"""


class Hand:
    """Drives one browser window at one server."""

    def __init__(self, window: Window, address: str, width: int) -> None:
        self.window, self.page = window, window.page
        self.address, self.width = address.rstrip("/"), width
        self.wrong: list[str] = []

    def go(self, path: str) -> None:
        """Open an address of the server."""
        self.window.open(f"{self.address}{path}")

    def type(self, selector: str, words: str) -> None:
        """Replace what stands in an input."""
        self.page.locator(selector).first.fill(words)

    def press(self, words: str, within: str = "main", *, leaves: bool = True) -> None:
        """Press the button or link that says, or begins with, these words.

        leaves: a new page comes, which is waited for
        """
        target = self.found(words, within)
        if leaves:
            with self.page.expect_navigation():
                target.click()
        else:
            target.click()

    def found(self, words: str, within: str = "main") -> Locator:
        """Return the first button or link that says exactly these words, else that begins with them."""
        targets = self.page.locator(within).locator("a, button, summary")
        spoken = r"^\s*" + r"\s+".join(map(re.escape, words.split()))
        exact = targets.filter(has_text=re.compile(spoken + r"\s*$"))
        some = exact if exact.count() else targets.filter(has_text=re.compile(spoken))
        assert some.count(), f"'{words}' is not on {self.where}"
        return some.first

    def look(self, name: str) -> None:
        """Photograph the page and note what is wrong with it."""
        self.window.picture(f"{name}-{self.width}")
        self.wrong += [f"{name}: {line}" for line in faults(self.window, self.width, self.address)]
        self.window.console.clear()
        self.window.asked.clear()

    @property
    def where(self) -> str:
        """Path of the page that is open."""
        return str(self.window.ask("location.pathname"))

    @property
    def text(self) -> str:
        """What the page says."""
        return str(self.window.ask("document.querySelector('main').innerText"))


def faults(window: Window, width: int, address: str, rules: tuple[str, ...] = RULES) -> list[str]:
    """Return what is wrong with the open page: complaints, strangers, too wide, small or unnamed targets, axe's."""
    found = [f"the console says {line}" for line in window.console]
    found += [f"loads {url}" for url in window.asked if not url.startswith((address, "data:", "blob:"))]
    wide = window.ask("document.documentElement.scrollWidth")
    found += [f"{wide} wide"] if wide > width else []
    found += [] if window.ask("document.querySelectorAll('h1').length") == 1 else ["not one heading"]
    found += [f"too small for a finger: {target}" for target in window.ask(SMALL)]
    found += [f"has no label: {target}" for target in window.ask(UNNAMED)]
    return found + grave_findings(window, rules)


def grave_findings(window: Window, rules: tuple[str, ...] = RULES) -> list[str]:
    """Return what breaks the rules of WCAG 2.2 AA gravely on the page that is open, as axe-core sees it."""
    if not window.ask("typeof window.axe === 'object'"):
        assert AXE.exists(), "accessibility rules are missing: npm ci --prefix tests/web/axe --ignore-scripts"
        window.ask(f"(() => {{ {AXE.read_text(encoding='utf-8')} }})()")
    findings = window.ask(
        f"axe.run(document, {{runOnly: {json.dumps(rules)}, resultTypes: ['violations']}}).then(found =>"
        " found.violations.map(v => ({id: v.id, impact: v.impact, nodes: v.nodes.map(n => n.html.slice(0, 160) +"
        " ' | ' + n.any.concat(n.all, n.none).map(c => c.message).join(' '))})))"
    )
    return [
        f"{finding['id']} ({finding['impact']}): {node}"
        for finding in findings
        if finding["impact"] in GRAVE
        for node in finding["nodes"][:4]
    ]
