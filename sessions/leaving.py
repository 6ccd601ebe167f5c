"""Ending a session before all its loads are recorded: nothing more will be run."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from chemistry import accounts
from chemistry.checks import require_writer
from darkroom.errors import DomainError, NotAllowed
from darkroom.models import Member
from darkroom.operations import claim_receipt, operation
from sessions import settling
from sessions.models import Session


class CannotEnd(DomainError):
    code = "cannot_end"
    status = 409


@operation
def end_session(*, visit: Session, key: UUID, by: Member, at: datetime) -> Session:
    """The session, ended: what it was still promised and what it still holds is given back.

    Raises: NotAllowed, CannotEnd, AlreadySent.
    """
    receipt = claim_receipt(by, key, "end_session", [visit.pk])
    if receipt.result:
        return Session.objects.get(pk=visit.pk)
    require_writer(by)
    if not visit.is_changed_by(by):
        raise NotAllowed("This is another member's session.")
    visit = settling.lock(visit)
    if not visit.is_open():
        raise CannotEnd("This session is over already.")
    if not visit.runs.standing().exists():
        raise CannotEnd("Nothing was recorded for it. If nothing was run, cancel it instead.")
    accounts.lock(batch_ids=settling.promised_batches(visit))
    settling.end(visit, at=at)
    receipt.settle(visit.code)
    return visit
