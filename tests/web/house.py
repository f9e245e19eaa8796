"""A server in a process of its own, as `drystow serve` starts it, with a data folder of its own."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def served(folder: Path, *, lan: bool = False) -> Iterator[str]:
    """Give the address of a server that runs until the end of the block."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    process = subprocess.Popen(
        [sys.executable, "-c", f"from drystow.web.server import serve; serve(lan={lan}, port=0)"],
        env=environment | {"DRYSTOW_DATA": str(folder)},
        cwd=Path(__file__).parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert "http://127.0.0.1:" in line, line
        yield line.split()[3].rstrip("/")
    finally:
        process.terminate()
        process.communicate(timeout=20)
