"""Bottles for a session that was booked while some were still to be mixed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from darkroom.errors import DomainError, NotAllowed
from darkroom.models import HouseRules, Member
from darkroom.operations import claim_receipt, operation
from sessions import supplies
from sessions.models import Session
from sessions.promising import Asked, Pour, choose_bottles
from sessions.standing_plan import plan_of


class NothingToFetch(DomainError):
    """No step of the session waits for a bottle, or none that serves has been mixed yet."""

    code = "nothing_to_fetch"
    status = 409


@operation
def fetch_bottles(*, visit: Session, key: UUID, by: Member, at: datetime) -> Session:
    """The session with a bottle for every step that one serves by now; the others go on waiting.

    Raises: NotAllowed, NothingToFetch, AlreadySent.
    """
    receipt = claim_receipt(by, key, "fetch_bottles", {"visit": str(visit.code)})
    if receipt.result:
        return Session.objects.get(code=receipt.result)
    visit = Session.objects.select_for_update(no_key=True).get(pk=visit.pk)
    if not by.may_write or (visit.member_id != by.pk and not by.is_steward):
        raise NotAllowed("Only whoever booked it, or a steward, can fetch bottles for a session.")
    plan = plan_of(visit)
    waiting = tuple(bath for bath in plan.baths if bath.batch_id is None)
    asked = Asked(
        replace(plan, baths=waiting),
        visit.starts_at.astimezone(HouseRules.current().tz),
        visit.member_id,
        may_lack=[bath.step_id for bath in waiting],
    )
    shelf = supplies.locked_for(waiting, visit.member, ())
    _promise(visit, [pour for pour in choose_bottles(asked, shelf) if pour.batch is not None])
    receipt.settle(visit.code)
    return visit


def _promise(visit: Session, pours: Iterable[Pour]) -> None:
    found = {pour.bath.step_id: pour.batch for pour in pours}
    if not found:
        raise NothingToFetch("No bottle that would serve stands on the shelf yet.")
    for allotment in visit.allotments.open().filter(step__in=found, batch=None):
        batch = found[allotment.step_id]
        assert batch is not None
        allotment.batch, allotment.way = batch, batch.way
        allotment.save(update_fields=["batch", "way"])
