"""Giving a session up: what it keeps is free again, what it was promised is anybody's."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from chemistry import accounts
from darkroom.errors import DomainError, NotAllowed
from darkroom.models import Member
from darkroom.operations import claim_receipt, operation
from sessions import settling
from sessions.models import Allotment, Session


class CannotCancel(DomainError):
    """There is nothing left to give up."""

    code = "cannot_cancel"
    status = 409


@operation
def cancel_session(*, visit: Session, key: UUID, by: Member, at: datetime) -> Session:
    """The session, cancelled. One that passed without a run can still be: it did not happen.

    Raises: NotAllowed, CannotCancel, AlreadySent.
    """
    receipt = claim_receipt(by, key, "cancel_session", {"visit": str(visit.code)})
    if receipt.result:
        return Session.objects.get(code=receipt.result)
    visit = settling.lock(visit)
    _check(visit, by)
    _lock_promised(visit)
    visit.holds.live().update(released_at=at)
    visit.allotments.open().update(state=Allotment.State.RELEASED)
    visit.cancelled_at = at
    visit.save(update_fields=["cancelled_at"])
    receipt.settle(visit.code)
    return visit


def _check(visit: Session, by: Member) -> None:
    if not visit.is_changed_by(by):
        raise NotAllowed("Only whoever booked it, or a steward, can cancel a session.")
    if visit.cancelled_at is not None:
        raise CannotCancel("This session is cancelled already.")
    if visit.ended_at is not None or visit.runs.standing().exists():
        raise CannotCancel("A run has been recorded for this session, so it did happen.")


def _lock_promised(visit: Session) -> None:
    batches = visit.allotments.open().filter(batch__isnull=False)
    accounts.lock(batch_ids=[pk for pk in batches.values_list("batch", flat=True) if pk])
