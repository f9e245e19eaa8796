"""Accounts on the command line, and the start with --lan that needs one."""

import os
import re
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests.cli.run import COMMAND
from tests.patience import PATIENCE

PASSWORD = "wet leaves on the lawn"


def run(folder: Path, *arguments: str, typed: str = "", **more: str) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    return subprocess.run(
        [COMMAND, *arguments],
        input=typed,
        capture_output=True,
        text=True,
        env=environment | {"DRYSTOW_DATA": str(folder), "COLUMNS": "200", "NO_COLOR": "1"} | more,
        timeout=PATIENCE,
    )


def test_sharing_needs_an_owner_and_then_tells_the_address_to_open(tmp_path: Path) -> None:
    refused = run(tmp_path, "serve", "--lan", "--port", "8971")
    assert refused.returncode == 2
    assert refused.stderr == (
        "Error: --lan: other devices are let in only with accounts, and there is no owner yet;"
        " run `drystow account add NAME --role owner` first\n"
    )
    added = run(tmp_path, "account", "add", "ana", "--role", "owner", "--password-stdin", typed=f"{PASSWORD}\n")
    assert (added.stdout, added.stderr) == ("ana can sign in as owner.\n", "")
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DJANGO_", "DRYSTOW_"))}
    process = subprocess.Popen(
        [sys.executable, "-c", "from drystow.web.server import serve; serve(lan=True, port=0)"],
        env=environment | {"DRYSTOW_DATA": str(tmp_path), "DRYSTOW_HOSTS": "Kitchen.Example"},
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        port = re.search(r"http://127\.0\.0\.1:(\d+)/ \(stop", process.stdout.readline())
        assert port is not None
        told = process.stdout.readline()
        assert re.search(rf"On the tablet open http://[\d.]+:{port[1]}/|no address in a network", told)
        for host in ("127.0.0.1", "kitchen.example"):
            request = urllib.request.Request(f"http://127.0.0.1:{port[1]}/", headers={"Host": host})
            with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
                assert answer.url.endswith("/sign-in/?next=%2F")
                assert b"Sign in" in answer.read()
        request = urllib.request.Request(f"http://127.0.0.1:{port[1]}/", headers={"Host": "evil.example"})
        with pytest.raises(urllib.error.HTTPError, match="400"):
            urllib.request.urlopen(request, timeout=PATIENCE)
    finally:
        process.terminate()
        process.communicate(timeout=PATIENCE)


def test_accounts_are_listed_changed_and_removed(tmp_path: Path) -> None:
    assert "No accounts yet" in run(tmp_path, "account", "list").stdout
    for name, role in (("ana", "owner"), ("ben", "viewer")):
        run(tmp_path, "account", "add", name, "--role", role, "--password-stdin", typed=f"{PASSWORD}\n")
    assert run(tmp_path, "account", "role", "ben", "helper").stdout == "ben is helper now.\n"
    changed = run(tmp_path, "account", "password", "ben", "--password-stdin", typed="rain barrel behind the shed\n")
    assert changed.stdout == "Password of ben changed.\n"
    listed = run(tmp_path, "account", "list").stdout
    assert re.search(r"ana +owner +never\s+ben +helper +never", listed)
    assert run(tmp_path, "account", "remove", "ben").returncode == 0
    last = run(tmp_path, "account", "remove", "ana")
    assert (last.returncode, last.stderr) == (
        2,
        "Error: name: 'ana' is the only owner; make someone else an owner first\n",
    )


def test_a_weak_password_and_a_missing_one_are_told(tmp_path: Path) -> None:
    weak = run(tmp_path, "account", "add", "ana", "--password-stdin", typed="12345\n")
    assert weak.returncode == 2
    assert "Error: password: This password is too short. It must contain at least 10 characters." in weak.stderr
    assert "give it with --password-stdin" in run(tmp_path, "account", "add", "ana").stderr


def test_the_demo_has_accounts_of_its_own(tmp_path: Path) -> None:
    run(tmp_path, "account", "--demo", "add", "ana", "--role", "owner", "--password-stdin", typed=f"{PASSWORD}\n")
    assert "No accounts yet" in run(tmp_path, "account", "list").stdout
    assert "ana" in run(tmp_path, "account", "--demo", "list").stdout


def test_a_proxy_without_accounts_and_an_impossible_host_are_refused(tmp_path: Path) -> None:
    assert "DRYSTOW_TLS: a proxy lets others in" in run(tmp_path, "serve", "--port", "8972", DRYSTOW_TLS="1").stderr
    wrong = run(tmp_path, "serve", "--lan", "--port", "8973", DRYSTOW_HOSTS="*.example")
    assert "DRYSTOW_HOSTS: '*.example' is not a host name" in wrong.stderr
