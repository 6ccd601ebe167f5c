"""The embedded server as the commands see it."""

from __future__ import annotations

import time

from django.db import connection

from darkroom.embedded import cluster
from darkroom.embedded.base import layout_of
from darkroom.embedded.layout import Layout

LEAVING_S = 0.2
END_LIMIT_S = 0.5
POLL_S = 0.02
OTHERS = """
SELECT count(*) FROM pg_stat_activity
WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()
"""


def embedded_layout() -> Layout | None:
    """Where the embedded database lies; None if ``DATABASE_URL`` names another one."""
    if connection.settings_dict["ENGINE"] != "darkroom.embedded":
        return None
    return layout_of(connection.settings_dict)


def stop_if_unused() -> bool:
    """End the embedded server unless somebody else is connected to it."""
    layout = embedded_layout()
    if layout is None or not layout.is_up():
        return False
    unused = _is_alone()
    connection.close()
    return unused and cluster.stop(layout, limit_s=END_LIMIT_S)


def _is_alone() -> bool:
    # The connections of processes that just ended take a moment to go.
    until = time.monotonic() + LEAVING_S
    while True:
        with connection.cursor() as cursor:
            cursor.execute(OTHERS)
            others = cursor.fetchone()[0]
        if others == 0 or time.monotonic() > until:
            return bool(others == 0)
        time.sleep(POLL_S)
