"""The server itself: where it listens, what it refuses, what it keeps in the data folder."""

import re
import socket
import stat
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from drystow.errors import InputError
from drystow.web.folder import KEY_FILE, data_folder, secret_key
from drystow.web.server import serve


def fetch(address: str, **headers: str) -> tuple[int, str, str]:
    request = urllib.request.Request(address, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
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
