"""Tells whoever asked that bottles have changed.

Callbacks run inside the operation's transaction. They read without locks and insert notices,
nothing else: whatever they lock would be taken out of order.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Protocol


class Callback(Protocol):
    def __call__(self, batch_ids: list[int], *, at: datetime) -> None: ...


_callbacks: list[Callback] = []


def register(callback: Callback) -> None:
    """Call ``callback`` on every change from now on; once, however often it is registered."""
    if callback not in _callbacks:
        _callbacks.append(callback)


def tell(batch_ids: Iterable[int], *, at: datetime) -> None:
    """These bottles have changed: in volume, wear, or in whether they may be used."""
    changed = sorted(set(batch_ids))
    if changed:
        for callback in _callbacks:
            callback(changed, at=at)
