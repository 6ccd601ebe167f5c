"""A running ``up`` as a process, its children, and somebody else's connection to its database."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

from darkroom.embedded.layout import DATABASE, PORT, USER, Layout
from tests.folders import MANAGE, house_environment


class House:
    """A running ``up`` in a process group of its own, and what it prints."""

    def __init__(self, folder: Path, *words: str, **environment: str) -> None:
        self.folder = folder
        self.process = subprocess.Popen(
            [sys.executable, MANAGE, "up", *words],
            env=house_environment(folder, **environment),
            stdout=subprocess.PIPE,
            stderr=None,
            text=True,
            start_new_session=True,
        )
        self.address = self.line()

    def line(self) -> str:
        assert self.process.stdout is not None
        return self.process.stdout.readline().rstrip("\n")

    def get(self, path: str) -> int:
        connection = HTTPConnection(urlsplit(self.address).netloc, timeout=40)
        try:
            connection.request("GET", path)
            return connection.getresponse().status
        finally:
            connection.close()

    def children(self) -> dict[int, str]:
        return {
            pid: command
            for pid, (parent, command) in processes().items()
            if parent == self.process.pid
        }

    def descendants(self) -> set[int]:
        """Every process under ``up``, the web server's own workers too."""
        found, known = {self.process.pid}, processes()
        while True:
            more = {pid for pid, (parent, _) in known.items() if parent in found} - found
            if not more:
                return found
            found |= more


def processes() -> dict[int, tuple[int, str]]:
    """The parent and the command line of every living process."""
    found = {}
    for place in Path("/proc").glob("[0-9]*"):
        try:
            state, parent = (place / "stat").read_text().rpartition(") ")[2].split()[:2]
            command = (place / "cmdline").read_text().replace("\0", " ")
        except (FileNotFoundError, ProcessLookupError):
            continue
        if state != "Z":
            found[int(place.name)] = (int(parent), command)
    return found


def wait_until(is_so: Callable[[], bool], limit_s: float) -> float:
    """The seconds until it was so."""
    begun = time.monotonic()
    while not is_so():
        assert time.monotonic() < begun + limit_s
        time.sleep(0.02)
    return time.monotonic() - begun


def guest_of(folder: Path) -> psycopg.Connection[tuple[int]]:
    place = str(Layout(folder).socket_dir)
    return psycopg.connect(host=place, port=PORT, user=USER, dbname=DATABASE)


def people_in(guest: psycopg.Connection[tuple[int]]) -> int:
    [(count,)] = guest.execute("SELECT count(*) FROM darkroom_member").fetchall()
    return count


@contextmanager
def served(folder: Path, *words: str, **environment: str) -> Iterator[House]:
    house = House(folder, *words, **environment)
    try:
        yield house
    finally:
        if house.process.poll() is None:
            os.killpg(house.process.pid, signal.SIGKILL)
        house.process.wait()
        if house.process.stdout is not None:
            house.process.stdout.close()
