"""Many people at once, each with a connection of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connection


def at_once(acts: Iterable[Callable[[], Any]]) -> list[Any]:
    """What each act returned or raised, all of them let go at the same moment."""
    acts = list(acts)
    gate = Barrier(len(acts))

    def enter(act: Callable[[], Any]) -> Any:
        try:
            connection.ensure_connection()
            gate.wait(timeout=60)
            return act()
        except Exception as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(enter, acts))
