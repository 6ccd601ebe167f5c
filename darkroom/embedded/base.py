"""Django's PostgreSQL engine, on a server that is started at the first connection."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.db.backends.postgresql import base
from django.db.backends.postgresql.client import DatabaseClient as PostgresClient

from darkroom.embedded.binaries import wheel_bin
from darkroom.embedded.cluster import ensure
from darkroom.embedded.layout import PORT, USER, Layout


def layout_of(settings: dict[str, Any]) -> Layout:
    return Layout(Path(settings["DATA_DIR"]), fsync=settings.get("FSYNC", True))


class DatabaseClient(PostgresClient):
    # Another version's psql on the PATH may not know this server.
    executable_name = str(wheel_bin() / "psql")


class DatabaseWrapper(base.DatabaseWrapper):
    client_class = DatabaseClient

    def __init__(self, settings_dict: dict[str, Any], alias: str = "default") -> None:
        layout = layout_of(settings_dict)
        settings_dict.update(HOST=str(layout.socket_dir), PORT=str(PORT), USER=USER)
        super().__init__(settings_dict, alias)

    def get_connection_params(self) -> dict[str, Any]:
        # Asked for by Django and by the task worker, each time they are about to connect.
        ensure(layout_of(self.settings_dict))
        return super().get_connection_params()
