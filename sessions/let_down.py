"""Telling people that equipment which a session keeps is out of service, or back again.

Runs in the transaction that took it out, after the fact; only inserts notices.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.urls import reverse

from darkroom.models import Equipment, HouseRules
from sessions.alerts import Fact, insert, notice_of, steward_ids
from sessions.displacing import Displaced, Time
from sessions.models import Hold, Session
from sessions.models.notices import NoticeKind
from sessions.offers import starts_of


def tell(
    displaced: Displaced, key: str, piece: Equipment, out: Time, reason: str, *, at: datetime
) -> None:
    """Each member who lost the piece, whoever is to carry on at another, and the stewards once."""
    rules = HouseRules.current()
    says = f"{piece} is out of service {_span_words(out, rules)}: {reason.rstrip('.')}."
    fixes = [(visit, _fix(visit, rules, at)) for visit in displaced.let_down]
    facts = [(visit.member_id, _lost(visit, key, piece, says, fix, rules)) for visit, fix in fixes]
    facts += [
        (visit.member_id, _carry_on(visit, key, piece, other, says))
        for visit, other in displaced.moved
        if visit.has_begun(at=at)
    ]
    if fixes:
        summary = _summary(key, piece, says, fixes, rules)
        facts += [(pk, summary) for pk in steward_ids()]
    insert([notice_of(pk, NoticeKind.SESSION_AFFECTED, fact, at) for pk, fact in facts])


def tell_back(visits: Sequence[Session], key: str, piece: Equipment, *, at: datetime) -> None:
    """Each member who has the piece again."""
    rules = HouseRules.current()
    notices = [
        notice_of(
            visit.member_id,
            NoticeKind.SESSION_AFFECTED,
            Fact(
                key=f"{key}:{visit.pk}:back",
                subject=f"{piece.code} is back: your session stands",
                body=f"Your session of {_when(visit, rules)} has {piece} again, as it was booked.",
                url=visit.get_absolute_url(),
            ),
            at,
        )
        for visit in visits
    ]
    insert(notices)


def lost_sentence(visit: Session) -> str:
    """What a session still needs and has lost; empty when it has all."""
    if not visit.is_open():
        return ""
    lost = Hold.objects.filter(session=visit, is_let_down=True).order_by("equipment__code")
    names = list(dict.fromkeys(str(hold.equipment) for hold in lost.select_related("equipment")))
    verb = "is" if len(names) == 1 else "are"
    return f"{' and '.join(names)} {verb} out of service then." if names else ""


def _lost(
    visit: Session, key: str, piece: Equipment, says: str, fix: str, rules: HouseRules
) -> Fact:
    return Fact(
        key=f"{key}:{visit.pk}",
        subject=f"{piece.code} is out of service: your session of {_when(visit, rules)}",
        body=f"{says} {fix}",
        url=visit.get_absolute_url(),
    )


def _carry_on(visit: Session, key: str, piece: Equipment, other: Equipment, says: str) -> Fact:
    return Fact(
        key=f"{key}:{visit.pk}",
        subject=f"{piece.code} is out of service: carry on at {other.code}",
        body=f"{says} {other} is kept for you instead.",
        url=visit.get_absolute_url(),
    )


def _summary(
    key: str, piece: Equipment, says: str, fixes: Sequence[tuple[Session, str]], rules: HouseRules
) -> Fact:
    lines = [f"{visit.member}, {_when(visit, rules)}: {fix}" for visit, fix in fixes]
    many = f"{len(fixes)} sessions need" if len(fixes) > 1 else "1 session needs"
    return Fact(
        key=key,
        subject=f"{piece.code} is out of service: {many} another time or place",
        body="\n".join([says, *lines]),
        url=reverse("sessions:equipment-item", args=[piece.code]),
    )


def _fix(visit: Session, rules: HouseRules, at: datetime) -> str:
    if not visit.is_open():
        return "The session is over; what still hangs or stands there has to go elsewhere."
    if visit.has_begun(at=at):
        return "It has begun: carry on with another, and record what was run."
    starts = starts_of(visit, at=at)
    start = next((start for start in starts if start >= visit.starts_at), None)
    if start is None and not starts:
        return "Nothing else is free in the coming fortnight: plan it anew with another vessel."
    found = (start or starts[-1]).astimezone(rules.tz)
    return f"The nearest free start is {found:%A %-d %B, %H:%M}: move it there."


def _when(visit: Session, rules: HouseRules) -> str:
    return f"{visit.starts_at.astimezone(rules.tz):%A %-d %B, %H:%M}"


def _span_words(out: Time, rules: HouseRules) -> str:
    starts, ends = (None if moment is None else moment.astimezone(rules.tz) for moment in out)
    if ends is None:
        return "until further notice"
    return f"from {starts:%A %-d %B, %H:%M} to {ends:%A %-d %B, %H:%M}"
