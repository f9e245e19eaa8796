"""Django with a data folder of its own, the demo load, and a real server with a real browser."""

import os
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import django
import pytest
from django.db import transaction
from django.test import Client, override_settings

FOLDER = tempfile.TemporaryDirectory(prefix="drystow-web-tests-")
os.environ["DRYSTOW_DATA"] = FOLDER.name
os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
os.environ.pop("DRYSTOW_DEMO", None)
django.setup()

from django.test.utils import setup_databases, teardown_databases  # noqa: E402

from drystow.web.site.demo import DemoLoad, demo_load, demo_ready  # noqa: E402
from tests.web.browser import Browser  # noqa: E402


@pytest.fixture(scope="session", autouse=True)
def database() -> Iterator[None]:
    """A test database, made once from the migrations."""
    made = setup_databases(verbosity=0, interactive=False)
    yield
    teardown_databases(made, verbosity=0)


@pytest.fixture(autouse=True)
def clean_rows(database: None) -> Iterator[None]:
    """Every test sees an empty database and leaves one."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def client() -> Client:
    return Client(SERVER_NAME="localhost")


@pytest.fixture
def demo() -> Iterator[DemoLoad]:
    with override_settings(DEMO=True):
        yield demo_ready(demo_load())


@pytest.fixture(scope="session")
def served_demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a server in a process of its own, as `drystow serve --demo` starts it."""
    folder = tmp_path_factory.mktemp("served")
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    process = subprocess.Popen(
        [sys.executable, "-c", "from drystow.web.server import serve; serve(demo=True, port=0)"],
        env=environment | {"DRYSTOW_DATA": str(folder)},
        cwd=Path(__file__).parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        assert "http://127.0.0.1:" in line, process.communicate(timeout=20)
        address = line.split()[3]
        _wait_for_numbers(address)
        yield address
    finally:
        process.terminate()
        process.communicate(timeout=20)


def _wait_for_numbers(address: str) -> None:
    for _ in range(240):
        with urllib.request.urlopen(address, timeout=20) as answer:
            if b"On the trays" in answer.read():
                return
        time.sleep(0.5)
    raise AssertionError("the demo load was not ready after two minutes")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with Browser() as running:
        yield running
