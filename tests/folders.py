"""Folders for servers and commands that a test starts itself."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from darkroom.embedded.cluster import stop
from darkroom.embedded.layout import Layout
from darkroom.settings import BASE_DIR
from tests.settings import RUN_DIR

MANAGE = BASE_DIR / "manage.py"


@contextmanager
def data_folder(name: str = "d") -> Iterator[Path]:
    """A folder that the server's account can enter, which a root-owned test folder is not."""
    place = Path(tempfile.mkdtemp(dir=RUN_DIR))
    place.chmod(0o755)
    folder = place / name
    folder.mkdir()
    try:
        yield folder
    finally:
        layout = Layout(folder)
        stop(layout)
        if layout.socket_dir != layout.folder:
            shutil.rmtree(layout.socket_dir, ignore_errors=True)
        shutil.rmtree(place)


def house_environment(folder: Path, **more: str) -> dict[str, str]:
    """The environment of a newcomer: nothing set but the data folder."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return kept | {"WETSIDE_DATA": str(folder), "PYTHONUNBUFFERED": "1"} | more


def manage(
    folder: Path, *words: str | Path, checkout: Path = BASE_DIR, **more: str
) -> subprocess.CompletedProcess[str]:
    """Run a command of the house to its end, its output caught through pipes."""
    return subprocess.run(
        [sys.executable, checkout / "manage.py", *words],
        env=house_environment(folder, **more),
        cwd="/",
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
