"""Taking equipment out of service, for a time or until further notice, and putting it back.

The sessions that it hits are told, each with the nearest start that would do, and so are the
stewards. Locks as everywhere: whoever gives a session back what it lost locks the session first.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from uuid import UUID

from psycopg.types.range import TimestamptzRange

from chemistry.checks import checked_words, require_steward
from darkroom.errors import DomainError
from darkroom.models import Equipment, Member
from darkroom.operations import claim_receipt, operation
from sessions import displacing, let_down
from sessions.displacing import Time
from sessions.models import Hold, Maintenance, Phase, Session

MOST_WORDS = 300
LONGEST = timedelta(days=366)
MISSING = "Say what is being done, or what is wrong with it."


class NotAPeriod(DomainError):
    code = "not_a_period"


class OutAlready(DomainError):
    """It is out of service then as it is."""

    code = "out_already"
    status = 409


class NotOut(DomainError):
    """There is nothing to end."""

    code = "not_out"
    status = 409


@operation
def plan_maintenance(
    *,
    equipment: Equipment,
    starts_at: datetime,
    ends_at: datetime,
    reason: str,
    key: UUID,
    by: Member,
    at: datetime,
) -> Maintenance:
    """The piece, out of service for this time; a start that has passed means from now on.

    Raises: NotAllowed, WordsWanted, NotAPeriod, OutAlready, AlreadySent.
    """
    spoken = [moment.astimezone(UTC).isoformat() for moment in (starts_at, ends_at)]
    receipt = claim_receipt(by, key, "plan_maintenance", [equipment.pk, *spoken, reason])
    if receipt.result:
        return Maintenance.objects.get(pk=receipt.result)
    require_steward(by)
    words = checked_words(reason, most=MOST_WORDS, field="reason", missing=MISSING)
    out = max(starts_at, at), ends_at
    _check_period(out, at)
    same_kind = displacing.lock(equipment)
    standing = Maintenance.objects.standing(at=at).filter(equipment=equipment)
    if standing.filter(period__overlap=out).exists():
        raise OutAlready(f"{equipment} is out of service for a part of that time.", field="starts")
    displaced = displacing.displace(equipment, same_kind, out, at=at)
    period = TimestamptzRange(*out)
    maintenance = Maintenance(
        equipment=equipment, period=period, reason=words, planned_by=by, planned_at=at
    )
    maintenance.full_clean()
    maintenance.save(force_insert=True)
    Hold.objects.create(
        equipment=equipment, maintenance=maintenance, period=period, phase=Phase.OUT
    )
    let_down.tell(displaced, _key(maintenance), equipment, out, words, at=at)
    receipt.settle(maintenance.pk)
    return maintenance


@operation
def end_maintenance(
    *, maintenance: Maintenance, key: UUID, by: Member, at: datetime
) -> list[Session]:
    """The sessions that have the piece again, for it is back before its time.

    Raises: NotAllowed, NotOut, AlreadySent.
    """
    receipt = claim_receipt(by, key, "end_maintenance", [maintenance.pk])
    if receipt.result:
        return []
    require_steward(by)
    out = maintenance.period.lower, maintenance.period.upper
    piece = _lock_sessions_and(maintenance.equipment, out, at)
    maintenance = Maintenance.objects.get(pk=maintenance.pk)
    if maintenance.ended_at is not None or maintenance.period.upper <= at:
        raise NotOut(f"That is over already: {maintenance.reason}")
    maintenance.holds.live().update(released_at=at)
    maintenance.ended_at, maintenance.ended_by = at, by
    maintenance.save(update_fields=["ended_at", "ended_by"])
    served = displacing.give_back(piece, out, at=at) if piece.is_in_service else []
    let_down.tell_back(served, _key(maintenance), piece, at=at)
    receipt.settle(maintenance.pk)
    return served


@operation
def take_out_of_service(
    *, equipment: Equipment, reason: str, key: UUID, by: Member, at: datetime
) -> Equipment:
    """The piece, out of service until further notice.

    Raises: NotAllowed, WordsWanted, OutAlready, AlreadySent.
    """
    receipt = claim_receipt(by, key, "take_out_of_service", [equipment.pk, reason])
    if receipt.result:
        return Equipment.objects.get(pk=receipt.result)
    require_steward(by)
    words = checked_words(reason, most=MOST_WORDS, field="reason", missing=MISSING)
    same_kind = displacing.lock(equipment)
    piece = next(one for one in same_kind if one.pk == equipment.pk)
    if not piece.is_in_service:
        raise OutAlready(f"{piece} is out of service already: {piece.out_reason}")
    piece.is_in_service, piece.out_reason, piece.out_since = False, words, at
    piece.save(update_fields=["is_in_service", "out_reason", "out_since"])
    out: Time = (at, None)
    displaced = displacing.displace(piece, same_kind, out, at=at)
    let_down.tell(displaced, _out_key(piece, at), piece, out, words, at=at)
    receipt.settle(piece.pk)
    return piece


@operation
def put_back_in_service(
    *, equipment: Equipment, key: UUID, by: Member, at: datetime
) -> list[Session]:
    """The sessions that have the piece again, for it is of use again.

    Raises: NotAllowed, NotOut, AlreadySent.
    """
    receipt = claim_receipt(by, key, "put_back_in_service", [equipment.pk])
    if receipt.result:
        return []
    require_steward(by)
    piece = _lock_sessions_and(equipment, (at, None), at)
    if piece.is_in_service or piece.out_since is None:
        raise NotOut(f"{piece} is in service.")
    fact_key = _out_key(piece, piece.out_since)
    piece.is_in_service, piece.out_reason, piece.out_since = True, "", None
    piece.save(update_fields=["is_in_service", "out_reason", "out_since"])
    served = displacing.give_back(piece, (at, None), at=at)
    let_down.tell_back(served, fact_key, piece, at=at)
    receipt.settle(piece.pk)
    return served


def _check_period(out: tuple[datetime, datetime], at: datetime) -> None:
    starts_at, ends_at = out
    if ends_at <= starts_at:
        raise NotAPeriod("It must end after it starts, and not have ended already.", field="ends")
    if ends_at > at + LONGEST:
        raise NotAPeriod(
            "That is more than a year away; take it out until further notice instead.", field="ends"
        )


def _lock_sessions_and(equipment: Equipment, out: Time, at: datetime) -> Equipment:
    """The sessions that may have it again, then the piece. None can be added to them meanwhile
    that keeps it: whoever lost it did so while it was out."""
    waiting = displacing.lost(equipment, out, at=at)
    rows = Session.objects.filter(pk__in=[visit.pk for visit in waiting]).order_by("pk")
    list(rows.select_for_update(no_key=True).values_list("pk"))
    return Equipment.objects.select_for_update(no_key=True).get(pk=equipment.pk)


def _key(maintenance: Maintenance) -> str:
    return f"maintenance:{maintenance.pk}"


def _out_key(piece: Equipment, since: datetime) -> str:
    return f"equipment:{piece.pk}:out:{since:%Y%m%dT%H%M%S}"
