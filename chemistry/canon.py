"""An entry of the ledger as one line of text, and its hash; the database writes the same.

Every column but ``hash`` in a fixed order, joined by ``|``: integers in decimal,
instants as microseconds since the epoch, texts as the hex of their SHA-256, the uuid as text,
nothing for NULL, and the hash of the entry before.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from chemistry.models import Movement

GENESIS = "0" * 64
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def canon(entry: Movement) -> str:
    return "|".join(
        (
            str(entry.seq),
            str(entry.operation),
            _micros(entry.happened_at),
            _micros(entry.entered_at),
            str(entry.source_id),
            str(entry.target_id),
            str(entry.quantity),
            _text(entry.method),
            _text(entry.kind),
            _text(entry.reason),
            _integer(entry.by_id),
            _integer(entry.reverses_id),
            entry.prev_hash,
        )
    )


def entry_hash(entry: Movement) -> str:
    return _text(canon(entry))


def _text(value: str) -> str:
    return hashlib.sha256(value.encode()).hexdigest()


def _micros(moment: datetime) -> str:
    return str((moment - EPOCH) // timedelta(microseconds=1))


def _integer(value: int | None) -> str:
    return "" if value is None else str(value)
