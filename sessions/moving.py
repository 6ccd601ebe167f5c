"""Moving a session to another time: all of it moves, or all of it stays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from uuid import UUID

from darkroom.errors import DomainError, NotAllowed
from darkroom.inducted import Inducted
from darkroom.models import HouseRules, Member
from darkroom.operations import claim_receipt, operation
from sessions import admission, company, pieces, supplies
from sessions.company import Span
from sessions.hours import check_start
from sessions.models import Allotment, Session
from sessions.promising import Asked, choose_bottles, insert_allotments
from sessions.standing_plan import plan_of
from sessions.starts import later_starts
from sessions.supplies import Supply


class CannotMove(DomainError):
    """The session is over, cancelled or under way."""

    code = "cannot_move"
    status = 409


@operation
def move_session(
    *, visit: Session, starts_at: datetime, key: UUID, by: Member, at: datetime
) -> Session:
    """The session at its new time, with any piece and any bottle that serves it there.

    What it is promised stays with its bottles where they serve. Refused, the old booking stands.
    Raises: NotAllowed, CannotMove, StartRefused, NotInducted, WouldBeAlone, SlotTaken,
    BottleRefused, AlreadySent.
    """
    figures = {"visit": str(visit.code), "starts_at": starts_at.astimezone(UTC).isoformat()}
    receipt = claim_receipt(by, key, "move_session", figures)
    if receipt.result:
        return Session.objects.get(code=receipt.result)
    visit = Session.objects.select_for_update(no_key=True).get(pk=visit.pk)
    _check(visit, by, at)
    rules, plan = HouseRules.current(), plan_of(visit)
    check_start(plan.timeline, starts_at, rules=rules, at=at)
    held = set(visit.holds.wanted().values_list("equipment", flat=True))
    span = (starts_at, starts_at + timedelta(seconds=plan.timeline.attended_s))
    inducted = Inducted(visit.member, zone=rules.tz, at=at)
    wanted = admission.check_inducted(
        visit.process, pieces.lock_candidates(plan.timeline.needs, held), inducted, until=span[1]
    )
    promised = [bath.batch_id for bath in plan.baths if bath.batch_id is not None]
    shelf = supplies.locked_for(plan.baths, visit.member, promised)
    kept = pieces.choose(wanted, starts_at, ignoring=visit.pk)
    later = partial(later_starts, plan.timeline, wanted, after=starts_at, rules=rules, at=at)
    _check_company(visit, span, rules, later)
    asked = Asked(
        plan,
        starts_at.astimezone(rules.tz),
        visit.member_id,
        may_lack=[bath.step_id for bath in plan.baths if bath.batch_id is None],
        later=later,
    )
    others = [supply.without(visit.pk) for supply in shelf]
    pours = choose_bottles(_staying_where_served(asked, others), others)
    visit.holds.wanted().update(released_at=at, is_let_down=False)
    visit.allotments.open().update(state=Allotment.State.RELEASED)
    _set_time(visit, span)
    pieces.insert_holds(visit, kept)
    insert_allotments(visit, plan, pours)
    receipt.settle(visit.code)
    return visit


def _check(visit: Session, by: Member, at: datetime) -> None:
    if not visit.is_changed_by(by):
        raise NotAllowed("Only whoever booked it, or a steward, can move a session.")
    if visit.cancelled_at is not None:
        raise CannotMove("This session is cancelled. Plan a new one instead.")
    if visit.ended_at is not None or visit.runs.standing().exists():
        raise CannotMove("A run has been recorded for this session, so it stays where it is.")
    if visit.has_begun(at=at):
        raise CannotMove("This session has begun, so it can no longer be moved.")


def _staying_where_served(asked: Asked, shelf: list[Supply]) -> Asked:
    """The same, wishing for the bottles it had only where they serve at the new time."""
    serving = {
        (bath.step_id, supply.batch.pk)
        for bath in asked.plan.baths
        for supply in shelf
        if supply.batch.pk == bath.batch_id and supply.serves(asked.promise(bath))
    }
    baths = tuple(
        bath if (bath.step_id, bath.batch_id) in serving else replace(bath, batch_id=None)
        for bath in asked.plan.baths
    )
    return replace(asked, plan=replace(asked.plan, baths=baths))


def _check_company(
    visit: Session, span: Span, rules: HouseRules, later: Callable[[], list[datetime]]
) -> None:
    """Whoever was named still comes along, unless they have left the house."""
    companion = visit.companion
    if company.is_asked(visit.process, rules):
        company.check_company(
            span,
            by=visit.member,
            companion=companion if companion is not None and companion.is_active else None,
            rules=rules,
            later=later,
            ignoring=visit.pk,
        )


def _set_time(visit: Session, span: Span) -> None:
    visit.starts_at, visit.ends_at = span
    visit.full_clean()
    visit.save(update_fields=["starts_at", "ends_at"])
