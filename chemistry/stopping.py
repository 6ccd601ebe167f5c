"""Stopping a bottle that looks wrong, and releasing it again."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from chemistry import accounts, changes
from chemistry.checks import checked_words, require_steward, require_writer
from chemistry.models import Batch, BatchStop
from darkroom.errors import DomainError
from darkroom.models import Member
from darkroom.operations import claim_receipt, operation

MOST_WORDS = 300


class AlreadyStopped(DomainError):
    """Somebody was quicker."""

    code = "already_stopped"
    status = 409


class NotStopped(DomainError):
    """There is nothing to release."""

    code = "not_stopped"
    status = 409


@operation
def stop_batch(*, batch: Batch, seen: str, key: UUID, by: Member, at: datetime) -> BatchStop:
    """Nobody may book the bottle from now on. Open to every member.

    Raises: NotAllowed, WordsWanted, AlreadyStopped.
    """
    require_writer(by)
    receipt = claim_receipt(by, key, "stop_batch", {"batch": batch.pk, "seen": seen})
    if receipt.result:
        return BatchStop.objects.get(pk=receipt.result)
    words = checked_words(seen, most=MOST_WORDS, field="seen", missing="Say what was seen.")
    accounts.lock(batch_ids=[batch.pk])
    if _open_stop(batch) is not None:
        raise AlreadyStopped(f"{batch} is stopped already; nobody can book it.")
    stop = BatchStop.objects.create(batch=batch, seen=words, stopped_at=at, stopped_by=by)
    changes.tell([batch.pk], at=at)
    receipt.settle(stop.pk)
    return stop


@operation
def release_batch(*, batch: Batch, reason: str, key: UUID, by: Member, at: datetime) -> BatchStop:
    """A steward lets the bottle be used again.

    Raises: NotAllowed, WordsWanted, NotStopped.
    """
    require_steward(by)
    receipt = claim_receipt(by, key, "release_batch", {"batch": batch.pk, "reason": reason})
    if receipt.result:
        return BatchStop.objects.get(pk=receipt.result)
    words = checked_words(
        reason, most=MOST_WORDS, field="reason", missing="Write why it may be used again."
    )
    accounts.lock(batch_ids=[batch.pk])
    stop = _open_stop(batch)
    if stop is None:
        raise NotStopped(f"{batch} is not stopped.")
    stop.released_at = at
    stop.released_by = by
    stop.release_reason = words
    stop.save(update_fields=["released_at", "released_by", "release_reason"])
    changes.tell([batch.pk], at=at)
    receipt.settle(stop.pk)
    return stop


def _open_stop(batch: Batch) -> BatchStop | None:
    return BatchStop.objects.filter(batch=batch, released_at__isnull=True).first()
