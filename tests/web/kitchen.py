"""A server in a process of its own, as `drystow serve` starts it, with a data folder of its own."""

import os
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.patience import PATIENCE, processor_seconds, until

ROOT = Path(__file__).parents[2]
RUNNING: dict[str, int] = {}
"""Number of the process of every server that runs, by the first line that it printed."""


@contextmanager
def served(folder: Path, *, lan: bool = False, demo: bool = False) -> Iterator[str]:
    """Give the address of a server that runs until the end of the block."""
    script = f"from drystow.web.server import serve; serve(demo={demo}, lan={lan}, port=0, warm=False)"
    with served_by(script, folder) as line:
        assert "http://127.0.0.1:" in line, line
        yield line.split()[3].rstrip("/")


@contextmanager
def served_by(script: str, folder: Path) -> Iterator[str]:
    """Give the first line that a script prints, which runs until the end of the block."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    with (folder / "complaints.txt").open("wb") as complaints:
        process = subprocess.Popen(
            [sys.executable, "-c", script],
            env=environment | {"DRYSTOW_DATA": str(folder), "PYTHONPATH": f"{ROOT}:{ROOT / 'src'}"},
            cwd=folder,
            stdout=subprocess.PIPE,
            stderr=complaints,
            text=True,
        )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert line, (folder / "complaints.txt").read_text()
        RUNNING[line] = process.pid
        try:
            yield line
        finally:
            del RUNNING[line]
    finally:
        process.terminate()
        process.communicate(timeout=PATIENCE)


@contextmanager
def served_demo_in(folder: Path) -> Iterator[str]:
    """Give the address of a server with the demo once its numbers are worked out, with a slash at its end."""
    with served(folder, demo=True) as address:
        wait_for_numbers(f"{address}/")
        yield f"{address}/"


def wait_for_numbers(address: str) -> None:
    """Wait until the page of the demo load shows its trays."""
    until(lambda: b"On the trays" in page_at(address), "the demo load was never ready")


def work_of(address: str) -> float:
    """Return the processor time that the server at an address took so far [s], whatever others do."""
    return processor_seconds(next(process for line, process in RUNNING.items() if address.rstrip("/") in line))


def page_at(address: str) -> bytes:
    """Return what stands at an address."""
    with urllib.request.urlopen(address, timeout=PATIENCE) as answer:
        content: bytes = answer.read()
    return content
