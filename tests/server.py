"""The database server of a test run: its own folder, gone at the end, whatever ended the run."""

from __future__ import annotations

import fcntl
import os
import shutil
from pathlib import Path

from darkroom.embedded.cluster import stop
from darkroom.embedded.layout import Layout
from darkroom.settings import DATA_DIR

RUNS = DATA_DIR / "tests"
OWNER = "owner.lock"
_held: list[int] = []


def open_run() -> None:
    """Claim this run's folder and clear away those whose run was killed."""
    folder = Path(os.environ["WETSIDE_TEST_RUN"])
    folder.mkdir(parents=True, exist_ok=True)
    descriptor = os.open(folder / OWNER, os.O_RDWR | os.O_CREAT, 0o600)
    fcntl.flock(descriptor, fcntl.LOCK_EX)
    _held.append(descriptor)
    for other in RUNS.iterdir():
        if other != folder and _is_abandoned(other):
            _clear(other)


def close_run() -> None:
    if _held:
        _clear(Path(os.environ["WETSIDE_TEST_RUN"]))
        os.close(_held.pop())


def _is_abandoned(folder: Path) -> bool:
    try:
        descriptor = os.open(folder / OWNER, os.O_RDWR)
    except FileNotFoundError:
        # Made a moment ago by a run that has not claimed it yet, or half cleared away.
        return False
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    finally:
        os.close(descriptor)
    return True


def _clear(folder: Path) -> None:
    layout = Layout(folder, fsync=False)
    stop(layout)
    if layout.socket_dir != layout.folder:
        shutil.rmtree(layout.socket_dir, ignore_errors=True)
    shutil.rmtree(folder, ignore_errors=True)
