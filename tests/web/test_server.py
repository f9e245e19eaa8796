"""The server itself: where it listens, what it refuses, what it keeps in the data folder."""

import http.client
import re
import socket
import stat
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from drystow import web
from drystow.errors import InputError
from drystow.web.batches import runforms
from drystow.web.data.forms import MOST_LOAD
from drystow.web.folder import KEY_FILE, data_folder, database, secret_key
from drystow.web.middleware import most_bytes
from drystow.web.plans.views.files import LARGEST as LOTS_FILE
from drystow.web.readings import csvfile
from drystow.web.server import serve
from tests.patience import PATIENCE
from tests.web.kitchen import served, served_by


@pytest.fixture(scope="module")
def served_kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a server with an empty house."""
    with served(tmp_path_factory.mktemp("house")) as address:
        yield address


def fetch(address: str, **headers: str) -> tuple[int, str, str]:
    request = urllib.request.Request(address, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return answer.status, answer.headers["Content-Type"], answer.read().decode()
    except urllib.error.HTTPError as problem:
        with problem:
            return problem.code, problem.headers["Content-Type"], problem.read().decode()


def test_the_real_server_serves_the_demo_and_its_files(served_demo: str) -> None:
    status, kind, body = fetch(served_demo)
    assert (status, kind) == (200, "text/html; charset=utf-8")
    assert "Alder Lane Kitchen" in body
    for address in sorted(set(re.findall(r'(?:href|src)="(/static/[^"]+)"', body))):
        status, kind, content = fetch(served_demo + address.lstrip("/"))
        assert status == 200
        assert content
        assert kind.split(";")[0] in ("text/css", "text/javascript", "image/svg+xml")
    assert fetch(served_demo, Host="kitchen.example")[0] == 400


def test_a_port_in_use_is_told_with_the_way_out() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(InputError, match=f"port {port} is in use.* --port {port + 1}") as problem:
            serve(port=port)
    assert problem.value.field == "--port"


@pytest.mark.parametrize("port", [-1, 65536])
def test_a_port_that_cannot_be_is_refused(port: int) -> None:
    with pytest.raises(InputError, match=f"{port} is not a port"):
        serve(port=port)


def test_the_key_is_made_once_and_for_its_owner_only(tmp_path: Path) -> None:
    key = secret_key(tmp_path)
    assert len(key) >= 60
    assert secret_key(tmp_path) == key
    assert stat.S_IMODE((tmp_path / KEY_FILE).stat().st_mode) == 0o600


def test_a_broken_key_file_is_told_with_its_place(tmp_path: Path) -> None:
    (tmp_path / KEY_FILE).write_text("short")
    with pytest.raises(InputError, match=r"DRYSTOW_DATA: the key in .*secret-key.* delete this file"):
        secret_key(tmp_path)


def test_a_database_address_says_what_is_missing_for_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drystow.web.folder.find_spec", lambda _name: None)
    monkeypatch.setenv("DATABASE_URL", "postgres://kitchen@localhost:5432/drystow")
    with pytest.raises(InputError, match=r"pip install 'drystow\[postgres\]'"):
        database(tmp_path, False)
    monkeypatch.setenv("DATABASE_URL", "sqlite:///here.sqlite3")
    assert database(tmp_path, False)["NAME"] == "here.sqlite3"
    monkeypatch.setenv("DATABASE_URL", "somewhere")
    with pytest.raises(InputError, match="is not a database address"):
        database(tmp_path, False)


def test_a_data_folder_that_cannot_be_made_names_its_variable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("DRYSTOW_DATA", str(tmp_path / "file" / "folder"))
    with pytest.raises(InputError, match=r"DRYSTOW_DATA: the folder .* cannot be made"):
        data_folder()


def test_without_an_environment_the_users_own_folder_is_used(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("DRYSTOW_DATA")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    assert data_folder().is_relative_to(tmp_path)


def test_a_switch_that_is_neither_yes_nor_no_names_its_variable(monkeypatch: pytest.MonkeyPatch) -> None:
    from drystow.web.settings import _switch

    monkeypatch.setenv("DRYSTOW_DEMO", "perhaps")
    with pytest.raises(InputError, match="DRYSTOW_DEMO: 'perhaps' is neither yes nor no"):
        _switch("DRYSTOW_DEMO")


IMPORTS = """
import sys
from drystow.web.server import make_server
make_server(port=0)
before = set(sys.modules)
from drystow.planning.schedule.model import load_solver
from drystow.web.site import demo
load_solver()
demo._charts()
print(*sorted(set(sys.modules) - before))
"""
LOOKED_FOR = {"pandas", "polars", "pyarrow", "modin", "cudf", "dask", "duckdb", "ibis", "pyspark", "sqlframe"}
"""What the charts' library looks for among the loaded modules, and uses even half imported."""


def test_nothing_that_charts_look_for_is_imported_while_requests_are_answered(tmp_path: Path) -> None:
    with served_by(IMPORTS, tmp_path) as line:
        late = set(line.split())
    assert {"altair", "ortools"} <= late
    assert late & LOOKED_FOR == set()


def connection_to(address: str) -> http.client.HTTPConnection:
    return http.client.HTTPConnection(urlsplit(address).netloc, timeout=PATIENCE)


NEVER_CLOSES_SILENT_ONES = """
from drystow.web import server
server.SILENCE = 100_000
server.serve(port=0, warm=False)
"""


def test_connections_that_say_nothing_or_half_of_it_keep_nobody_out(tmp_path: Path) -> None:
    with served_by(NEVER_CLOSES_SILENT_ONES, tmp_path) as line, ExitStack() as silent:
        address = line.split()[3].rstrip("/")
        port = int(address.rpartition(":")[2])
        for number in range(120):
            one = silent.enter_context(socket.create_connection(("127.0.0.1", port), timeout=PATIENCE))
            one.sendall(b"" if number % 2 else b"POST /batches/new/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 9")
        assert fetch(f"{address}/batches/")[0] == 200  # while they all are open


@pytest.mark.parametrize(
    ("path", "most"),
    [
        ("/batches/new/", 1), ("/api/v1/batches", 1), ("/nowhere/", 1), ("/sign-in/", 1), ("/data/load/", 1),
        ("/plans/file/", 1), ("/api/v1/dryers/1/readings", 3), ("/batches/1/running/note/", 25),
        ("/dryers/1/readings/file/", 60), ("/data/restore/", 2000),
    ],
)  # fmt: skip
def test_a_body_is_refused_unread_above_what_its_address_takes(served_kitchen: str, path: str, most: int) -> None:
    there = connection_to(served_kitchen)
    try:
        there.putrequest("POST", path)
        there.putheader("Content-Length", str(1_000_000 * most + 1))
        there.putheader("Expect", "100-continue")
        there.endheaders()  # and not one byte of the body
        answer = there.getresponse()
        text = answer.read().decode()
    finally:
        there.close()
    assert answer.status == 413
    assert f"over {most} MB" in text
    assert f"más de {most} MB" in text
    assert ("drystow restore" in text) == (path == "/data/restore/")


def test_a_body_in_pieces_of_unknown_number_is_cut_off_too(served_kitchen: str) -> None:
    there = connection_to(served_kitchen)
    try:
        there.putrequest("POST", "/batches/new/")
        there.putheader("Transfer-Encoding", "chunked")
        there.endheaders()
        with suppress(OSError):
            for _piece in range(30):
                there.send(b"%x\r\n%s\r\n" % (100_000, b"x" * 100_000))
        assert there.getresponse().status == 413
    finally:
        there.close()


def test_a_body_within_the_bound_arrives(served_kitchen: str) -> None:
    there = connection_to(served_kitchen)
    try:
        there.request("POST", "/batches/new/", b"x" * 999_000, {"Content-Type": "application/x-www-form-urlencoded"})
        assert there.getresponse().status == 403  # read, and refused for want of a form's token
    finally:
        there.close()


def test_every_form_that_takes_a_file_has_an_address_that_takes_it() -> None:
    """Each form refuses what is too large in its own words, so its address takes more than its largest file."""
    folder = Path(web.__file__).parent
    forms = {path.name for path in folder.rglob("*.html") if "multipart/form-data" in path.read_text(encoding="utf-8")}
    files = {
        "running.html": [("/batches/1/running/note/", runforms.LARGEST)],
        "overview.html": [("/data/restore/", 1_900_000_000), ("/data/load/", MOST_LOAD)],
        "file.html": [("/plans/file/", LOTS_FILE), ("/dryers/1/readings/file/", csvfile.MOST_BYTES)],
    }
    assert forms == set(files)
    for addresses in files.values():
        for path, largest in addresses:
            assert most_bytes(path) > 1.1 * largest or path == "/data/restore/", path
