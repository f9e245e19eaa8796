"""A real Chromium, driven through a pipe with its own debugging protocol; nothing else is needed."""

import base64
import fcntl
import json
import os
import shutil
import signal
import tempfile
import time
from pathlib import Path
from typing import Any

import pytest

SWITCHES = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--remote-debugging-pipe",
)  # fmt: skip
PATIENCE = 30.0


class Browser:
    """One browser window; remembers what its console said and which addresses it asked for."""

    def __init__(self) -> None:
        program = shutil.which("chromium")
        if program is None:
            pytest.fail("The browser tests need chromium: apt-get install chromium", pytrace=False)
        self.folder = tempfile.TemporaryDirectory(prefix="drystow-browser-", ignore_cleanup_errors=True)
        to_read, self.to_browser = os.pipe()
        self.from_browser, to_write = os.pipe()
        high = [fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10) for end in (to_read, to_write)]
        self.process = os.posix_spawn(
            program,
            [program, *SWITCHES, f"--user-data-dir={self.folder.name}", "about:blank"],
            dict(os.environ),
            file_actions=[
                (os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0),
                (os.POSIX_SPAWN_OPEN, 2, os.devnull, os.O_WRONLY, 0),
                (os.POSIX_SPAWN_DUP2, high[0], 3),
                (os.POSIX_SPAWN_DUP2, high[1], 4),
            ],
        )
        for end in (to_read, to_write, *high):
            os.close(end)
        self.rest = b""
        self.count = 0
        self.session = ""
        self.console: list[str] = []
        self.asked: list[str] = []
        targets = self.call("Target.getTargets")["targetInfos"]
        page = next(target for target in targets if target["type"] == "page")
        self.session = self.call("Target.attachToTarget", targetId=page["targetId"], flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, *_: object) -> None:
        os.kill(self.process, signal.SIGTERM)
        os.waitpid(self.process, 0)
        os.close(self.to_browser)
        os.close(self.from_browser)
        self.folder.cleanup()

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Return the answer to one command."""
        self.count += 1
        command: dict[str, Any] = {"id": self.count, "method": method, "params": parameters}
        if self.session:
            command["sessionId"] = self.session
        os.write(self.to_browser, json.dumps(command).encode() + b"\0")
        while True:
            message = self._next()
            if message.get("id") == self.count:
                assert "error" not in message, message
                return dict(message["result"])
            self._note(message)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self.rest:
            piece = os.read(self.from_browser, 1 << 16)
            assert piece, "the browser has gone"
            self.rest += piece
        line, self.rest = self.rest.split(b"\0", 1)
        return dict(json.loads(line))

    def _note(self, message: dict[str, Any]) -> None:
        parameters = message.get("params", {})
        match message.get("method"):
            case "Network.requestWillBeSent":
                self.asked.append(parameters["request"]["url"])
            case "Runtime.exceptionThrown":
                self.console.append(parameters["exceptionDetails"]["text"])
            case "Log.entryAdded":
                self.console.append(f"{parameters['entry']['level']}: {parameters['entry']['text']}")
            case "Runtime.consoleAPICalled":
                self.console.append(f"console.{parameters['type']}")

    def open(self, address: str, width: int, *, dark: bool = False) -> None:
        """Show a page on a screen of this width, with empty notes."""
        self.console.clear()
        self.asked.clear()
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=width < 600
        )
        scheme = "dark" if dark else "light"
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        self.call("Page.navigate", url=address)
        self.wait_for("document.readyState === 'complete' && document.location.href !== 'about:blank'")

    def ask(self, script: str) -> Any:
        """Return the value of a script on the page."""
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def wait_for(self, script: str) -> None:
        """Wait until a script on the page is true."""
        end = time.monotonic() + PATIENCE
        while not self.ask(script):
            assert time.monotonic() < end, f"never came true: {script}"
            time.sleep(0.05)

    def picture(self, path: Path) -> None:
        """Write the whole page as a PNG."""
        shot = self.call("Page.captureScreenshot", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(shot["data"]))
