"""A house for one benchmark, on an embedded server that ends with it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management import call_command
from django.db import connections

from darkroom.embedded.cluster import stop
from darkroom.serving.database import embedded_layout


@contextmanager
def empty_house() -> Iterator[None]:
    """All tables, nobody in."""
    try:
        call_command("migrate", verbosity=0, interactive=False)
        yield
    finally:
        connections.close_all()
        layout = embedded_layout()
        if layout is not None:
            stop(layout)
