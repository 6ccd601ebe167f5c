from __future__ import annotations

from typing import Any

from django.core.management.commands import makemigrations
from django.db import connection


class Command(makemigrations.Command):
    """Writes files and leaves the database asleep.

    Django would connect to see whether the applied migrations are consistent, and a connection
    starts the embedded server. ``migrate`` looks at that anyway.
    """

    def handle(self, *app_labels: str, **options: Any) -> None:
        engine = connection.settings_dict["ENGINE"]
        connection.settings_dict["ENGINE"] = "django.db.backends.dummy"
        try:
            super().handle(*app_labels, **options)
        finally:
            connection.settings_dict["ENGINE"] = engine
