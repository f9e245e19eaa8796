"""Runs the installed command as a person would."""

import os
import subprocess
import sys
from pathlib import Path

from tests.patience import PATIENCE

ROOT = Path(__file__).parents[2]
COMMAND = Path(sys.executable).with_name("drystow")


def drystow(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Return what ``drystow`` printed and how it ended."""
    environment = os.environ | {"COLUMNS": "200", "NO_COLOR": "1"}
    return subprocess.run(
        [COMMAND, *map(str, arguments)],
        capture_output=True,
        text=True,
        cwd=cwd or ROOT,
        env=environment,
        timeout=PATIENCE,
    )
