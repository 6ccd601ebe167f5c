from __future__ import annotations

import subprocess
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import CommandError
from django.core.management.base import BaseCommand

from darkroom.embedded import cluster
from darkroom.embedded.account import owner_of
from darkroom.embedded.binaries import wheel_bin
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import DATABASE, PORT, USER, Layout
from darkroom.serving.database import embedded_layout


class Command(BaseCommand):
    help = "Look at the embedded database, stop it or back it up."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        doings = parser.add_subparsers(dest="doing", required=True)
        doings.add_parser("status", help="where it lies and whether it runs")
        doings.add_parser("stop", help="end it, whoever uses it")
        backup = doings.add_parser("backup", help="write everything in it to a new file")
        backup.add_argument("file", type=Path)

    def handle(self, *args: Any, doing: str, **options: Any) -> None:
        layout = embedded_layout()
        if layout is None:
            raise CommandError("DATABASE_URL names the database; it is not ours to look after.")
        try:
            if doing == "backup":
                self._back_up(layout, options["file"])
            else:
                self.stdout.write(_stop(layout) if doing == "stop" else _status(layout))
        except (EmbeddedServerError, PermissionError) as error:
            raise CommandError(str(error)) from error

    def _back_up(self, layout: Layout, file: Path) -> None:
        if file.exists():
            raise CommandError(f"{file} exists already; a backup never overwrites one.")
        cluster.ensure(layout)
        # The wheel's own program: another version's refuses to read this server.
        command = [wheel_bin() / "pg_dump", "--format=custom", "--file", file]
        command += ["--host", layout.socket_dir, "--port", PORT, "--username", USER, DATABASE]
        answer = subprocess.run(  # noqa: S603 - our own program, no shell
            [str(word) for word in command], capture_output=True, check=False
        )
        if answer.returncode != 0:
            raise CommandError(answer.stderr.decode(errors="replace").strip())
        self.stdout.write(f"{file}: {file.stat().st_size / 1e6:.1f} MB")


def _stop(layout: Layout) -> str:
    return "Stopped." if cluster.stop(layout) else "It was not running."


def _status(layout: Layout) -> str:
    if not layout.folder.exists():
        return f"Not made yet; it will lie in {layout.folder}."
    word = "Running" if layout.is_up() else "Not running"
    return (
        f"{word}, in {layout.folder} (of {owner_of(layout.folder)}).\n"
        f"Socket folder {layout.socket_dir}, user {USER}, database {DATABASE}.\n"
        f"Programs {wheel_bin()}."
    )
