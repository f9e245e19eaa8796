"""Django with a data folder of its own, the demo load, and a real server."""

import os
import tempfile
from collections.abc import Iterator
from typing import Any

import django
import pytest
from django.db import connection, transaction
from django.test import Client, override_settings

FOLDER = tempfile.TemporaryDirectory(prefix="drystow-web-tests-")
os.environ["DRYSTOW_DATA"] = FOLDER.name
os.environ["DJANGO_SETTINGS_MODULE"] = "drystow.web.settings"
os.environ.pop("DRYSTOW_DEMO", None)
django.setup()

from django.test.utils import setup_databases, teardown_databases  # noqa: E402

from drystow.web.kit import background  # noqa: E402
from drystow.web.site.demo import DemoLoad, demo_load, demo_ready  # noqa: E402
from tests.web.as_read import as_read  # noqa: E402
from tests.web.kitchen import served_demo_in  # noqa: E402


@pytest.fixture(scope="session", autouse=True)
def database() -> Iterator[None]:
    """A test database of this process, made once from the migrations."""
    if connection.vendor == "postgresql":
        connection.settings_dict["TEST"]["NAME"] = f"test_drystow_{os.getpid()}"
    made = setup_databases(verbosity=0, interactive=False)
    yield
    teardown_databases(made, verbosity=0)


@pytest.fixture(autouse=True)
def clean_rows(database: None) -> Iterator[None]:
    """Every test sees an empty database and leaves one."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def nothing_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is worked out in a thread, which would not see what a test wrote."""
    waiting = background.Threads()
    monkeypatch.setattr(waiting, "start", lambda lane: None)
    monkeypatch.setattr(background, "queue", lambda: waiting)
    monkeypatch.setattr(background.BackgroundTask, "wait", lambda task, pk, at_most: None)


@pytest.fixture(autouse=True)
def pages_as_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests get a page as a browser reads it, however its template is laid out."""
    ask = Client.request

    def asked(self: Client, **request: Any) -> Any:
        response = ask(self, **request)
        if response.get("Content-Type", "").startswith("text/html") and not response.streaming:
            response.content = as_read(response.content.decode())
        return response

    monkeypatch.setattr(Client, "request", asked)


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
    with served_demo_in(tmp_path_factory.mktemp("served")) as address:
        yield address
