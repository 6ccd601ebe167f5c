"""The one command a newcomer runs, as a process of its own."""

from __future__ import annotations

import os
import re
import signal
import socket
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from darkroom.embedded.layout import Layout
from darkroom.serving.children import Child, end
from darkroom.serving.port import address_of, listen
from tests.darkroom.serving.house import guest_of, people_in, processes, served, wait_until
from tests.folders import data_folder, manage

# One after the other: each starts a whole house, and one of them is held to two seconds.
pytestmark = pytest.mark.xdist_group("serving")
ENDS_WITHIN_S = 2.0
ADD_PERSON = """
from darkroom.models import Member
Member.objects.create_member(email="ada@house.example", name="Ada")
"""


def test_up_serves_where_it_says_and_ends_with_everything() -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as busy,
        data_folder() as folder,
        served(folder, "--port", str(busy.getsockname()[1])) as house,
    ):
        port = busy.getsockname()[1]
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", house.address)
        assert port < urlsplit(house.address).port < port + 50
        assert house.get("/health") == 200
        assert house.get("/sign-in/") == 200

        second = manage(folder, "up")
        assert (second.returncode, second.stdout) == (0, f"{house.address}\n")
        as_demo = manage(folder, "up", "--demo")
        assert (as_demo.returncode, "not as a demo" in as_demo.stderr) == (1, True)

        assert house.line().startswith("Ready")
        assert house.line().endswith(f"letters are written to {folder / 'letters'}.")
        assert "first administrator" in house.line()
        link = house.line()
        assert house.get(urlsplit(link).path) == 200

        [worker] = [pid for pid, says in house.children().items() if "procrastinate" in says]
        os.kill(worker, signal.SIGKILL)
        wait_until(
            lambda: any(
                "procrastinate" in says and pid != worker for pid, says in house.children().items()
            ),
            limit_s=10,
        )

        everything = house.descendants()
        assert len(everything) >= 5
        os.killpg(house.process.pid, signal.SIGTERM)
        house.process.wait(timeout=ENDS_WITHIN_S)
        assert not everything & processes().keys()
        assert not Layout(folder).is_up()


def test_killed_up_takes_its_children_along_and_the_next_one_spares_a_guest(
    folder: Path,
) -> None:
    with served(folder, "--port", "0") as house:
        assert house.get("/health") == 200
        everything = house.descendants()
        os.kill(house.process.pid, signal.SIGKILL)
        wait_until(lambda: not everything & processes().keys(), limit_s=10)

    with served(folder, "--port", "0") as house, guest_of(folder) as guest:
        assert house.get("/health") == 200
        house.process.send_signal(signal.SIGINT)
        house.process.wait(timeout=ENDS_WITHIN_S)

        assert guest.execute("SELECT 1").fetchone() == (1,)


def test_demo_broken_off_while_it_loads_leaves_an_empty_house(folder: Path) -> None:
    with served(folder, "--port", "0", "--demo") as house:
        assert house.line().startswith("Loading the demo")
        with guest_of(folder) as guest:
            wait_until(lambda: people_in(guest) > 0, limit_s=30)
        os.killpg(house.process.pid, signal.SIGKILL)

    with served(folder, "--port", "0") as house:
        assert house.line().startswith("Ready")
        house.line()
        assert "first administrator" in house.line()
        with guest_of(folder) as guest:
            assert people_in(guest) == 0


def test_demo_in_a_real_house_says_why_not(folder: Path) -> None:
    assert manage(folder, "shell", "-v0", "-c", ADD_PERSON).returncode == 0

    answer = manage(folder, "up", "--demo")

    assert (answer.returncode, answer.stdout) == (1, "")
    assert "has people in it and is no demo" in answer.stderr
    assert answer.stderr.count("\n") == 1


def test_listener_takes_the_next_free_port() -> None:
    with listen(0) as first, listen(first.getsockname()[1]) as second:
        assert second.getsockname()[1] > first.getsockname()[1]
        assert address_of(second).startswith("http://127.0.0.1:")


def test_child_that_falls_is_started_again_after_ever_longer_pauses(
    capsys: pytest.CaptureFixture[str],
) -> None:
    child = Child("failing thing", ["false"])
    child.start()
    assert child.process is not None
    child.process.wait()

    child.look_after()
    child.look_after()

    assert child.process is None
    assert child.pause_s == 2.0
    assert capsys.readouterr().err == "The failing thing ended (1); again in 1 s.\n"


def test_childs_output_goes_where_only_its_owner_reads(tmp_path: Path) -> None:
    child = Child("letter writer", ["echo", "Dear Ada"], says_to=tmp_path / "letters")
    for _ in range(2):
        child.start()
        assert child.process is not None
        child.process.wait()

    assert (tmp_path / "letters").read_text() == "Dear Ada\nDear Ada\n"
    assert (tmp_path / "letters").stat().st_mode & 0o777 == 0o600


def test_child_that_does_not_listen_is_ended_all_the_same() -> None:
    deaf = Child("deaf thing", [sys.executable, "-c", DEAF])
    deaf.start()
    assert deaf.process is not None
    time.sleep(0.3)

    end([deaf])

    assert deaf.process.returncode == -signal.SIGKILL


DEAF = """
import signal, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
time.sleep(60)
"""
