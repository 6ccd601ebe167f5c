"""Undoing a record. Nothing is deleted: the run is voided with a reason, the ledger reversed."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from uuid import UUID

from chemistry import accounts
from chemistry.checks import checked_words
from chemistry.passing import unpass_load
from darkroom.errors import DomainError, NotAllowed
from darkroom.models import Member
from darkroom.operations import claim_receipt, operation
from sessions import settling
from sessions.models import Run

OWN_HOURS = 48
MOST_REASON = 300


class AlreadyVoided(DomainError):
    code = "already_voided"
    status = 409


def may_void(run: Run, *, by: Member, at: datetime) -> bool:
    """One's own run for two days after it was entered; a steward any run at any time."""
    is_recent = at - run.entered_at <= timedelta(hours=OWN_HOURS)
    return by.is_steward or (by.may_write and run.member_id == by.pk and is_recent)


@operation
def void_run(*, run: Run, reason: str, key: UUID, by: Member, at: datetime) -> Run:
    """The run, voided: its uses no longer count and its movements are reversed.

    Raises: NotAllowed, WordsWanted, AlreadyVoided, AlreadySent.
    """
    receipt = claim_receipt(by, key, "void_run", [run.pk, reason])
    if receipt.result:
        return Run.objects.get(pk=run.pk)
    if not may_void(run, by=by, at=at):
        raise NotAllowed("After two days only a steward voids a run; tell one what was wrong.")
    words = checked_words(
        reason, most=MOST_REASON, field="reason", missing="Say what was wrong with the record."
    )
    visit = None if run.session is None else settling.lock(run.session)
    run = Run.objects.select_for_update(no_key=True, of=("self",)).get(pk=run.pk)
    if run.voided_at is not None:
        raise AlreadyVoided("This run was voided before.")
    promised = set() if visit is None else settling.promised_batches(visit)
    locked = accounts.lock(batch_ids=promised, operation=run.operation)
    if visit is not None:
        settling.give_back(visit, area_mm2=run.sheets * run.format.area_mm2, at=at)
    unpass_load(run.operation, locked=locked, operation=uuid.uuid4(), reason=words, by=by, at=at)
    run.voided_at, run.voided_by, run.void_reason = at, by, words
    run.save(update_fields=["voided_at", "voided_by", "void_reason"])
    receipt.settle(run.code)
    return run
