"""Backup, restore and doctor as a person calls them, each in a process of its own."""

import json
import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from tests.patience import PATIENCE


def drystow(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "DRYSTOW_"))}
    command = [sys.executable, "-c", "from drystow.cli.entry import main; main()", *words]
    environment["DRYSTOW_DATA"] = str(folder)
    return subprocess.run(command, env=environment, capture_output=True, text=True, timeout=PATIENCE)


def test_a_backup_moves_a_kitchen_to_another_folder(tmp_path: Path) -> None:
    file = tmp_path / "kitchen.zip"
    written = drystow(tmp_path / "old", "backup", str(file))
    assert written.returncode == 0, written.stderr
    assert f"records are in {file}" in written.stdout
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    again = drystow(tmp_path / "old", "backup", str(file))
    assert (again.returncode, "is already there" in again.stderr) == (2, True)
    restored = drystow(tmp_path / "new", "restore", str(file))
    assert (restored.returncode, "records and 0 photos restored" in restored.stdout) == (0, True)
    file.write_bytes(b"no zip")
    wrong = drystow(tmp_path / "new", "restore", str(file))
    assert (wrong.returncode, "not a Drystow backup" in wrong.stderr) == (2, True)


def test_the_doctor_tells_what_is_wrong_and_changes_nothing(tmp_path: Path) -> None:
    first = drystow(tmp_path / "kitchen", "doctor", "--json")
    found = {check["name"]: check for check in json.loads(first.stdout)["checks"]}
    assert first.returncode == 1
    assert not found["migrations"]["ok"]
    drystow(tmp_path / "kitchen", "backup", str(tmp_path / "b.zip"))
    healthy = drystow(tmp_path / "kitchen", "doctor")
    assert healthy.returncode == 0, healthy.stdout
    assert "PROBLEM" not in healthy.stdout


def test_the_doctor_mends_the_books_only_when_told_to(tmp_path: Path) -> None:
    kitchen = tmp_path / "kitchen"
    drystow(kitchen, "backup", str(tmp_path / "b.zip"))
    with closing(sqlite3.connect(kitchen / "drystow.sqlite3")) as rows, rows:
        shared = "version, created_at, changed_at"
        rows.execute(
            f"INSERT INTO pantry_place ({shared}, id, name, temperature_c, coldest_month, humidity, notes)"
            " VALUES (1, '2026-06-01', '2026-06-01', 1, 'Cellar', 15, 1, 0.5, '')"
        )
        rows.execute(
            f"INSERT INTO pantry_package ({shared}, id, code, lot, food, name, place_id, container, net_mass_kg,"
            ' left_mass_kg, state, packed_on, "limit", basis, energy_kcal, protein_g, powder, absorbers, raw_animal,'
            " allergens, cost) VALUES (1, '2026-06-01', '2026-06-01', 1, 'ABC234', 'L1', 'f05469', 'Strawberries', 1,"
            " 'jar-quart', 0.1, 0.08, 'open', '2026-06-01', '', '', 0, 0, 0, '', 0, '[]', 0)"
        )
        for kind, mass_kg in (("packed", 0.1), ("used", 0.02), ("used", 0.02)):
            rows.execute(
                'INSERT INTO pantry_movement (package_id, kind, at, mass_kg, "to", note, who)'
                " VALUES (1, ?, '2026-06-01', ?, '', '', '')",
                (kind, mass_kg),
            )
    for _ in range(2):  # looking changes nothing
        sick = drystow(kitchen, "doctor")
        told = " ".join(sick.stdout.split())
        assert (sick.returncode, "ABC234 Strawberries: 80 g left" in told) == (1, True), told
        assert "drystow doctor --mend" in told
    mended = drystow(kitchen, "doctor", "--mend")
    assert (mended.returncode, "PROBLEM" in mended.stdout) == (0, False), mended.stdout
    with closing(sqlite3.connect(kitchen / "drystow.sqlite3")) as rows:
        assert rows.execute("SELECT round(left_mass_kg, 6) FROM pantry_package").fetchone() == (0.06,)


def test_a_damaged_database_is_found(tmp_path: Path) -> None:
    drystow(tmp_path / "kitchen", "backup", str(tmp_path / "b.zip"))
    path = tmp_path / "kitchen" / "drystow.sqlite3"
    path.write_bytes(b"x" * 8192)
    sick = drystow(tmp_path / "kitchen", "doctor")
    assert sick.returncode == 1
    assert "restore a backup into a new data folder" in sick.stdout
