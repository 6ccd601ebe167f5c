from __future__ import annotations

import subprocess
from pathlib import Path

from darkroom.embedded import cluster
from darkroom.embedded.binaries import wheel_bin
from darkroom.embedded.layout import Layout
from tests.folders import data_folder, manage


def test_status_and_stop_tell_what_runs() -> None:
    with data_folder() as folder:
        assert manage(folder, "database", "status").stdout.startswith("Not made yet")
        cluster.ensure(Layout(folder))
        assert manage(folder, "database", "status").stdout.startswith("Running, in")

        said = [manage(folder, "database", "stop").stdout for _ in range(2)]

        assert said == ["Stopped.\n", "It was not running.\n"]
        assert manage(folder, "database", "status").stdout.startswith("Not running, in")


def test_another_database_is_not_ours_to_stop() -> None:
    with data_folder() as folder:
        answer = manage(folder, "database", "stop", DATABASE_URL="postgres://u@127.0.0.1:1/x")

    assert (answer.returncode, answer.stdout) == (1, "")
    assert "not ours to look after" in answer.stderr


def test_backup_is_made_by_the_servers_own_program(tmp_path: Path) -> None:
    old = tmp_path / "pg_dump"
    old.write_text("#!/bin/sh\nexit 1\n")
    old.chmod(0o755)
    file = tmp_path / "house.dump"
    with data_folder() as folder:
        answer = manage(folder, "database", "backup", file, PATH=f"{tmp_path}:/usr/bin:/bin")
        again = manage(folder, "database", "backup", file)

    assert answer.returncode == 0, answer.stderr
    listed = subprocess.run(
        [wheel_bin() / "pg_restore", "--list", file], capture_output=True, check=True, text=True
    )
    assert "Dumped from database version: 18" in listed.stdout
    assert (again.returncode, "never overwrites" in again.stderr) == (1, True)
