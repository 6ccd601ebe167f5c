from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from darkroom.embedded import cluster
from darkroom.embedded.layout import Layout
from tests.folders import data_folder, manage


@pytest.fixture(scope="session")
def prepared() -> Iterator[Path]:
    """An empty house with its tables, its server ended, to be copied."""
    with data_folder() as folder:
        answer = manage(folder, "prepare")
        assert answer.returncode == 0, answer.stderr
        cluster.stop(Layout(folder))
        yield folder


@pytest.fixture
def folder(prepared: Path) -> Iterator[Path]:
    """The data folder of a house that has been served before, with nobody in it."""
    with data_folder() as folder:
        # The server's account keeps owning what it owns.
        subprocess.run(["cp", "-a", f"{prepared}/.", folder], check=True)
        yield folder
