"""The warm-up after a start does what the first pages need, in a process of its own."""

import os
import subprocess
import sys
from pathlib import Path

from tests.patience import PATIENCE

SCRIPT = """
import sys
from drystow.web.server import set_up_django
set_up_django()
from drystow.web.site import demo
demo.PAUSE = 0.0
demo._try = lambda step: step()  # what fails is heard
thread = demo.warm_up_in_background()
assert thread.daemon
thread.join()
missing = {"drystow.web.batches.views.trays", "drystow.machine.run", "altair"} - set(sys.modules)
print("missing", sorted(missing))
"""


def test_views_engine_and_charts_are_loaded_and_no_step_fails(tmp_path: Path) -> None:
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env=environment | {"DRYSTOW_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "missing []" in done.stdout
    assert "Traceback" not in done.stderr, done.stderr
