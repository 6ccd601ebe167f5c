"""Faults that members see on the equipment, and what stewards make of them."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.urls import reverse

from chemistry.checks import checked_words, require_steward, require_writer
from darkroom.errors import DomainError
from darkroom.models import Equipment, Member
from darkroom.operations import claim_receipt, operation
from sessions.alerts import Fact, insert, notice_of, steward_ids
from sessions.models import Fault, Session
from sessions.models.notices import NoticeKind

MOST_WORDS = 300


class ResolvedAlready(DomainError):
    """Somebody was quicker."""

    code = "resolved_already"
    status = 409


@operation
def report_fault(
    *,
    equipment: Equipment,
    seen: str,
    better_not_used: bool,
    key: UUID,
    by: Member,
    at: datetime,
) -> Fault:
    """What was seen, told to the stewards. Open to every member; it takes nothing out of service.

    Raises: NotAllowed, WordsWanted, AlreadySent.
    """
    receipt = claim_receipt(by, key, "report_fault", [equipment.pk, seen, better_not_used])
    if receipt.result:
        return Fault.objects.get(pk=receipt.result)
    require_writer(by)
    words = checked_words(seen, most=MOST_WORDS, field="seen", missing="Say what was seen.")
    fault = Fault.objects.create(
        equipment=equipment,
        seen=words,
        better_not_used=better_not_used,
        reported_at=at,
        reported_by=by,
    )
    _tell_stewards(fault, at)
    receipt.settle(fault.pk)
    return fault


@operation
def resolve_fault(*, fault: Fault, resolution: str, key: UUID, by: Member, at: datetime) -> Fault:
    """The fault, done with, and what became of it.

    Raises: NotAllowed, WordsWanted, ResolvedAlready, AlreadySent.
    """
    receipt = claim_receipt(by, key, "resolve_fault", [fault.pk, resolution])
    if receipt.result:
        return Fault.objects.get(pk=receipt.result)
    require_steward(by)
    words = checked_words(
        resolution, most=MOST_WORDS, field="resolution", missing="Write what was done about it."
    )
    fault = Fault.objects.select_for_update(no_key=True).get(pk=fault.pk)
    if fault.resolved_at is not None:
        raise ResolvedAlready(f"That is done with already: {fault.resolution}")
    fault.resolved_at, fault.resolved_by, fault.resolution = at, by, words
    fault.save(update_fields=["resolved_at", "resolved_by", "resolution"])
    receipt.settle(fault.pk)
    return fault


def doubtful(visit: Session) -> list[Fault]:
    """Open faults for which what the session keeps had better not be used."""
    if not visit.is_open():
        return []
    kept = visit.holds.live().values("equipment")
    found = Fault.objects.open().filter(better_not_used=True, equipment__in=kept)
    return list(found.select_related("equipment").order_by("equipment__code", "reported_at"))


def _tell_stewards(fault: Fault, at: datetime) -> None:
    piece, doubt = fault.equipment, " It had better not be used." if fault.better_not_used else ""
    fact = Fact(
        key=f"fault:{fault.pk}",
        subject=f"{piece.code}: a fault was reported",
        body=f"{fault.reported_by} saw on {piece}: {fault.seen.rstrip('.')}.{doubt}",
        url=reverse("sessions:fault-resolve", args=[fault.pk]),
    )
    insert([notice_of(pk, NoticeKind.FAULT, fact, at) for pk in steward_ids()])
