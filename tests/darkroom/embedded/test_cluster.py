"""Start and stop of the embedded server, each trap by the state that it springs from."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psycopg
import pytest

from darkroom.embedded import cluster, starting
from darkroom.embedded.account import server_account
from darkroom.embedded.binaries import usable_bin
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import DATABASE, PORT, SOCKET_NAME, USER, Layout
from darkroom.embedded.postmaster import is_alive, read_postmaster
from darkroom.embedded.starting import UNSAFE_BUT_FAST
from darkroom.settings import BASE_DIR
from tests.folders import data_folder, manage

ENSURE = """
import sys; sys.path.insert(0, sys.argv[1])
from pathlib import Path
from darkroom.embedded import cluster, starting
from darkroom.embedded.binaries import usable_bin
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import Layout
cluster.ensure(Layout(Path(sys.argv[2]), fsync=False))
"""


FOLD = """
from django.db import connection
with connection.cursor() as cursor:
    for question in ("SHOW server_encoding", "SELECT lower('\u00c5\u00c4\u00d6')"):
        cursor.execute(question)
        answer = cursor.fetchone()[0]
        print(answer if answer.isascii() else ascii(answer))
"""


@pytest.fixture(scope="module")
def made() -> Iterator[Layout]:
    with data_folder() as folder:
        layout = Layout(folder, fsync=False)
        cluster.ensure(layout)
        yield layout


@pytest.fixture
def running(made: Layout) -> Layout:
    cluster.ensure(made)
    return made


@pytest.fixture
def stopped(made: Layout) -> Layout:
    cluster.stop(made)
    return made


def ask(layout: Layout, question: str, *given: object) -> object:
    with psycopg.connect(
        host=str(layout.socket_dir), port=PORT, user=USER, dbname=DATABASE
    ) as connection:
        row = connection.execute(question, given or None).fetchone()
    assert row is not None
    return row[0]


def pid_of(layout: Layout) -> int:
    postmaster = read_postmaster(layout.folder)
    assert postmaster is not None
    return postmaster.pid


def leave_lock(layout: Layout, pid: int, status: str) -> None:
    """What a killed server leaves behind, with the number of some other process in it."""
    lines = [str(pid), str(layout.folder), "0", str(PORT), str(layout.socket_dir), "", "", status]
    (layout.folder / "postmaster.pid").write_text("\n".join(lines) + "\n", encoding="ascii")
    (layout.socket_dir / f"{SOCKET_NAME}.lock").write_text(f"{pid}\n", encoding="ascii")


def test_stop_ends_the_server_and_says_whether_it_ran(running: Layout) -> None:
    pid = pid_of(running)

    assert [cluster.stop(running), cluster.stop(running)] == [True, False]
    assert not is_alive(pid, running.folder)


def test_living_stranger_with_the_old_number_is_not_the_server(stopped: Layout) -> None:
    leave_lock(stopped, os.getpid(), "ready")

    cluster.ensure(stopped)

    assert pid_of(stopped) != os.getpid()
    assert ask(stopped, "SELECT 1") == 1


def test_stop_does_not_end_a_stranger(stopped: Layout) -> None:
    with subprocess.Popen(["sleep", "60"]) as stranger:
        leave_lock(stopped, stranger.pid, "ready")

        assert not cluster.stop(stopped)
        assert stranger.poll() is None
        stranger.kill()


def test_zombie_of_a_killed_server_is_not_the_server(stopped: Layout) -> None:
    account = server_account(stopped.folder)
    who = {"user": account.uid, "group": account.gid} if account.is_lent else {}
    programs = usable_bin(account, stopped.data_dir)
    options = ["-c", "listen_addresses=", "-k", str(stopped.socket_dir), "-c", "fsync=off"]
    with subprocess.Popen(
        [programs / "postgres", "-D", stopped.folder, *options],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        **who,
    ) as server:
        wait_until(stopped.is_up)
        server.send_signal(signal.SIGKILL)
        wait_until(lambda: "\nState:\tZ" in Path(f"/proc/{server.pid}/status").read_text())
        wait_until(lambda: not stopped.accepts())

        cluster.ensure(stopped)

        assert pid_of(stopped) != server.pid
        assert ask(stopped, "SELECT 1") == 1


def test_server_out_of_sight_that_listens_is_never_doubled(
    stopped: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    leave_lock(stopped, 2**22 + 1, "recovering")
    monkeypatch.setattr(starting, "START_LIMIT_S", 0.5)
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(str(stopped.socket_dir / SOCKET_NAME))
        listener.listen()

        with pytest.raises(EmbeddedServerError, match="does not start"):
            cluster.ensure(stopped)

    assert (stopped.folder / "postmaster.pid").read_text().startswith(f"{2**22 + 1}\n")


def test_killed_server_comes_back_with_what_was_committed() -> None:
    with data_folder() as folder:
        layout = Layout(folder)
        cluster.ensure(layout)
        with psycopg.connect(
            host=str(layout.socket_dir), port=PORT, user=USER, dbname=DATABASE
        ) as connection:
            connection.execute("CREATE TABLE kept AS SELECT 42 AS figure")
        pid = pid_of(layout)
        os.kill(pid, signal.SIGKILL)
        wait_until(lambda: not is_alive(pid, layout.folder))

        cluster.ensure(layout)

        assert ask(layout, "SELECT figure FROM kept") == 42


def test_server_that_still_starts_is_not_up(running: Layout) -> None:
    lock = running.folder / "postmaster.pid"
    says = lock.read_text(encoding="ascii")
    assert running.is_up()

    lock.write_text(says.replace("ready   ", "starting"), encoding="ascii")

    assert not running.is_up()
    lock.write_text(says, encoding="ascii")


def test_caller_with_pipes_does_not_hang(stopped: Layout) -> None:
    answer = subprocess.run(
        [sys.executable, "-c", ENSURE, BASE_DIR, stopped.data_dir],
        capture_output=True,
        check=False,
        timeout=20,
    )

    assert answer.returncode == 0, answer.stderr
    assert stopped.is_up()


def test_text_is_utf8_under_any_locale() -> None:
    with data_folder() as folder:
        answer = manage(folder, "shell", "-v0", "-c", FOLD, LANG="C", LC_ALL="C")

    assert answer.stdout.split() == ["UTF8", ascii("åäö")], answer.stderr


def test_text_is_sorted_by_code_point(running: Layout) -> None:
    words = ["ähre", "Zebra", "apfel", "Ähre", "zoom"]

    ordered = ask(running, "SELECT array_agg(w ORDER BY w) FROM unnest(%s::text[]) AS w", words)

    assert ordered == sorted(words)


def test_only_the_test_clusters_trade_safety_for_speed(running: Layout) -> None:
    assert {name: ask(running, f"SHOW {name}") for name in UNSAFE_BUT_FAST} == UNSAFE_BUT_FAST
    with data_folder() as folder:
        cluster.ensure(Layout(folder))
        assert ask(Layout(folder), "SHOW fsync") == "on"


def test_no_port_is_opened(running: Layout) -> None:
    assert ask(running, "SHOW listen_addresses") == ""


def test_path_too_long_for_a_socket_gets_a_short_private_one() -> None:
    with data_folder("a" * 120) as folder:
        layout = Layout(folder, fsync=False)
        cluster.ensure(layout)

        assert len(str(layout.socket_dir)) < 40
        assert layout.socket_dir.stat().st_mode & 0o777 == 0o700
        assert ask(layout, "SELECT 1") == 1


def test_two_cold_starters_make_one_cluster() -> None:
    with data_folder() as folder:
        command = [sys.executable, "-c", ENSURE, BASE_DIR, folder]
        starters = [subprocess.Popen(command, stderr=subprocess.PIPE) for _ in range(4)]

        said = [starter.communicate(timeout=60)[1] for starter in starters]

        assert [starter.returncode for starter in starters] == [0] * 4, said
        log = Layout(folder).log.read_text()
        assert log.count("database system is ready to accept connections") == 1


def test_half_made_cluster_is_made_anew() -> None:
    with data_folder() as folder:
        (folder / "pg18.new").mkdir()
        (folder / "pg18.new" / "PG_VERSION").write_text("18\n")
        layout = Layout(folder, fsync=False)

        cluster.ensure(layout)

        assert ask(layout, "SELECT 1") == 1
        assert not (folder / "pg18.new").exists()


def wait_until(is_so: Callable[[], bool], limit_s: float = 20) -> None:
    until = time.monotonic() + limit_s
    while not is_so():
        assert time.monotonic() < until
        time.sleep(0.02)
