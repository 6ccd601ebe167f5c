"""Bottles for a session that still lacks some, or was promised one that will not do any more."""

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
from sessions.planning.promises import failures
from sessions.promising import Asked, Pour, choose_bottles
from sessions.standing_plan import plan_of


class NothingToFetch(DomainError):
    """No step of the session waits for a bottle, or none that would serve stands there."""

    code = "nothing_to_fetch"
    status = 409


@operation
def fetch_bottles(*, visit: Session, key: UUID, by: Member, at: datetime) -> Session:
    """The session with a bottle for every step that one serves by now; the others go on waiting.

    A step waits as long as its bottle is still to be mixed, or lets it down.

    Raises: NotAllowed, NothingToFetch, AlreadySent.
    """
    receipt = claim_receipt(by, key, "fetch_bottles", {"visit": str(visit.code)})
    if receipt.result:
        return Session.objects.get(code=receipt.result)
    visit = Session.objects.select_for_update(no_key=True).get(pk=visit.pk)
    if not visit.is_changed_by(by):
        raise NotAllowed("Only whoever booked it, or a steward, can fetch bottles for a session.")
    plan = plan_of(visit)
    let_down = _let_down(visit)
    waiting = tuple(
        replace(bath, batch_id=None)
        for bath in plan.baths
        if bath.batch_id is None or bath.step_id in let_down
    )
    asked = Asked(
        replace(plan, baths=waiting),
        visit.starts_at.astimezone(HouseRules.current().tz),
        visit.member_id,
        may_lack=[bath.step_id for bath in waiting],
    )
    shelf = supplies.locked_for(waiting, visit.member, let_down.values())
    _promise(visit, [pour for pour in choose_bottles(asked, shelf) if pour.batch is not None])
    receipt.settle(visit.code)
    return visit


def _let_down(visit: Session) -> dict[int, int]:
    """The steps whose bottle cannot keep what it promised, and those bottles."""
    rows = list(visit.allotments.open().exclude(batch=None).select_related("batch"))
    promising = supplies.load_supplies(row.batch for row in rows if row.batch is not None)
    broken = {key for one in promising for key in failures(one.bottle, one.promised)}
    return {row.step_id: row.batch_id for row in rows if row.batch_id and row.pk in broken}


def _promise(visit: Session, pours: Iterable[Pour]) -> None:
    found = {pour.bath.step_id: pour.batch for pour in pours}
    if not found:
        raise NothingToFetch(
            "No bottle that would serve stands on the shelf yet. Ask a steward to mix one, or plan "
            "the session anew with another solution."
        )
    for allotment in visit.allotments.open().filter(step__in=found):
        batch = found[allotment.step_id]
        assert batch is not None
        allotment.batch, allotment.way = batch, batch.way
        allotment.save(update_fields=["batch", "way"])
