"""Entries of the ledger as lines of a list."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from chemistry.models import Account, AccountKind, Movement
from darkroom.models import Member


@dataclass(frozen=True)
class EntryLine:
    seq: int
    happened_at: datetime
    what: str
    source: str
    target: str
    quantity: int
    by: str


def with_sides(movements: QuerySet[Movement]) -> QuerySet[Movement]:
    """All that ``entry_line`` reads, in one query."""
    return movements.select_related(
        "source__batch",
        "source__container",
        "target__batch",
        "target__container",
        "by",
    )


def entry_line(movement: Movement, reader: Member) -> EntryLine:
    what = movement.get_kind_display()
    if movement.reverses_id is not None:
        what = f"{what}, undoes entry {movement.reverses_id}"
    if movement.reason:
        what = f"{what}: {movement.reason}"
    return EntryLine(
        seq=movement.seq,
        happened_at=movement.happened_at,
        what=f"{what} ({movement.get_method_display().lower()})",
        source=side(movement.source, reader),
        target=side(movement.target, reader),
        quantity=movement.quantity,
        by=movement.by.name if movement.by else "the house",
    )


def side(account: Account, reader: Member) -> str:
    """The account's name; of a private bottle others learn only that it is one."""
    batch = account.batch
    if batch is not None and batch.owner_id not in {None, reader.pk} and not reader.may_audit:
        return "a private bottle"
    if account.kind == AccountKind.UNPLACED:
        return f"Beside the containers ({account.get_stream_display().lower()})"
    return str(account)
