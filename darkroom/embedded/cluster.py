"""Start and stop of one embedded PostgreSQL, safe for many processes at once.

Every process that opens a connection calls ``ensure``. The first one that finds no server takes
the data folder's lock, makes the cluster if it is new, clears what a killed server left behind and
starts it; the others wait for the lock and find it running.
"""

from __future__ import annotations

import fcntl
import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager

from darkroom.embedded.account import owner_of, server_account
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import Layout
from darkroom.embedded.postmaster import is_alive, read_postmaster
from darkroom.embedded.starting import start

POLL_S = 0.02
HARD_LIMIT_S = 10.0


def ensure(layout: Layout) -> None:
    """A server that answers, started if need be."""
    with _said_in_one_line(layout):
        if layout.is_up():
            return
        with _locked(layout):
            if not layout.is_up():
                start(layout, server_account(layout.folder))


def stop(layout: Layout, limit_s: float = 30.0) -> bool:
    """End the server, its clients' transactions rolled back; False if it was not running.

    After ``limit_s`` it is ended without a checkpoint: nothing is lost, but its next start replays
    what this one left undone.
    """
    with _said_in_one_line(layout):
        if not layout.folder.exists():
            return False
        with _locked(layout):
            postmaster = read_postmaster(layout.folder)
            if postmaster is None or not is_alive(postmaster.pid, layout.folder):
                return False
            if not _ends(layout, postmaster.pid, signal.SIGINT, limit_s):
                _ends(layout, postmaster.pid, signal.SIGQUIT, HARD_LIMIT_S)
            return True


def _ends(layout: Layout, pid: int, number: signal.Signals, limit_s: float) -> bool:
    os.kill(pid, number)
    until = time.monotonic() + limit_s
    while is_alive(pid, layout.folder):
        if time.monotonic() > until:
            return False
        time.sleep(POLL_S)
    return True


@contextmanager
def _locked(layout: Layout) -> Iterator[None]:
    layout.data_dir.mkdir(parents=True, exist_ok=True)
    descriptor = os.open(layout.lock, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


@contextmanager
def _said_in_one_line(layout: Layout) -> Iterator[None]:
    try:
        yield
    except PermissionError as error:
        place = layout.folder if layout.folder.exists() else layout.data_dir
        owner = owner_of(place) if place.exists() else "another account"
        raise EmbeddedServerError(
            f"{place} belongs to {owner}: run as that account, or set WETSIDE_DATA to a folder "
            f"of your own ({error.strerror}: {error.filename})."
        ) from error
