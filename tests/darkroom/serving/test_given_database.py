"""A PostgreSQL that is given by its address is used as it is, and never ended."""

from __future__ import annotations

import signal
from pathlib import Path
from urllib.parse import quote

import pytest

from darkroom.embedded import cluster
from darkroom.embedded.layout import Layout
from tests.darkroom.serving.house import served
from tests.folders import data_folder, manage

pytestmark = pytest.mark.xdist_group("serving")
TELL = "from django.db import connection as c; print(c.settings_dict['PASSWORD'], c.vendor)"


def test_given_database_is_prepared_served_and_left_running(folder: Path) -> None:
    with data_folder() as empty:
        layout = Layout(folder, fsync=False)
        cluster.ensure(layout)
        url = f"postgres://wetside@{quote(str(layout.socket_dir), safe='')}/wetside"
        with served(empty, "--port", "0", DATABASE_URL=url) as house:
            assert house.get("/health") == 200
            house.process.send_signal(signal.SIGTERM)
            house.process.wait(timeout=5)

        assert layout.is_up()
        assert not Layout(empty).folder.exists()


def test_its_password_may_stand_in_a_file(tmp_path: Path) -> None:
    (tmp_path / "password").write_text("silver\n")
    with data_folder() as folder:
        answer = manage(
            folder,
            "shell",
            "-v0",
            "-c",
            TELL,
            DATABASE_URL="postgres://u@127.0.0.1:1/x",
            DATABASE_PASSWORD_FILE=str(tmp_path / "password"),
        )

    assert answer.stdout.split() == ["silver", "postgresql"], answer.stderr
