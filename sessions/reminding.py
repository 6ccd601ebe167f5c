"""Telling people, once per fact, what the clock and others' doings mean for them.

Inductions that end or were withdrawn, sessions that lack one by then, and who is company to whom.
Runs in the worker, reads without locks and only inserts notices.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.urls import reverse

from darkroom.inducted import WARN_AHEAD, Inducted
from darkroom.models import HouseRules, Induction
from sessions import admission, company
from sessions.alerts import Fact, insert, notice_of, steward_ids
from sessions.models import Notice, Session
from sessions.models.notices import NoticeKind

STILL_NEWS = timedelta(days=7)
"""How long after a withdrawal it is still told, should the worker have slept."""


def inductions(*, at: datetime) -> None:
    """Tell members of inductions of theirs that end soon, or were withdrawn."""
    rules = HouseRules.current()
    asked = Induction.objects.select_related("member", "topic").filter(member__is_active=True)
    ending = list(asked.expiring(at=at, within=WARN_AHEAD))
    gone = asked.filter(withdrawn_at__gt=at - STILL_NEWS, withdrawn_at__lte=at)
    people = Inducted.of_many({row.member for row in ending}, zone=rules.tz, at=at)
    facts = [(row.member_id, _ending(row, people[row.member_id])) for row in ending]
    facts += [(row.member_id, _withdrawn(row, rules)) for row in gone]
    insert([notice_of(pk, NoticeKind.INDUCTION, fact, at) for pk, fact in facts])


def sessions_lacking(*, at: datetime) -> None:
    """Tell members and stewards of sessions for which an induction will be missing."""
    rules, stewards = HouseRules.current(), steward_ids()
    notices: list[Notice] = []
    for visit, lack in admission.lacking(rules=rules, at=at):
        fact = Fact(
            key=f"session:{visit.pk}:lacks:{lack.topic.pk}",
            subject=f"{_when(visit, rules)}: an induction is missing",
            body=f"{lack.sentence} The session stands; it must not be run without it.",
            url=visit.get_absolute_url(),
        )
        people = (visit.member_id, *stewards)
        notices += [notice_of(pk, NoticeKind.SESSION_AFFECTED, fact, at) for pk in people]
    insert(notices)


def sessions_alone(*, at: datetime) -> None:
    """Tell members and stewards of sessions that others have left alone since."""
    rules, stewards = HouseRules.current(), steward_ids()
    notices: list[Notice] = []
    for visit, gaps in company.left_alone(rules=rules, at=at):
        fact = Fact(
            key=f"session:{visit.pk}:alone:{_stamp(visit)}",
            subject=f"{_when(visit, rules)}: nobody else is there",
            body=f"{company.alone_sentence(gaps, rules.tz)} Move it, or find somebody to come.",
            url=visit.get_absolute_url(),
        )
        people = (visit.member_id, *stewards)
        notices += [notice_of(pk, NoticeKind.COMPANY, fact, at) for pk in people]
    insert(notices)


def companions(*, at: datetime) -> None:
    """Tell whoever was named as company, and again when the session is moved or cancelled."""
    rules = HouseRules.current()
    ahead = Session.objects.filter(companion__isnull=False, ended_at=None, starts_at__gt=at)
    rows: Iterable[Session] = ahead.select_related("member", "companion", "process", "vessel")
    told = set(Notice.objects.filter(kind=NoticeKind.COMPANY).values_list("fact_key", flat=True))
    notices = []
    for visit in rows:
        fact = _company(visit, rules)
        was_told = fact.key.removesuffix(":off") in told
        if visit.companion_id is not None and (visit.cancelled_at is None or was_told):
            notices.append(notice_of(visit.companion_id, NoticeKind.COMPANY, fact, at))
    insert(notices)


def _ending(row: Induction, inducted: Inducted) -> Fact:
    assert row.expires_at is not None
    day = inducted.day(row.expires_at)
    return Fact(
        key=f"induction:{row.pk}:ends",
        subject=f"Your induction “{row.topic}” ends on {day}",
        body=(
            f"From then on nothing that asks for it can be booked or done by you. "
            f"{inducted.whom(row.topic)} Shown again, it counts from that day anew."
        ),
        url=reverse("sessions:induction-topic", args=[row.topic.code]),
    )


def _withdrawn(row: Induction, rules: HouseRules) -> Fact:
    assert row.withdrawn_at is not None
    day = row.withdrawn_at.astimezone(rules.tz)
    return Fact(
        key=f"induction:{row.pk}:withdrawn",
        subject=f"Your induction “{row.topic}” was withdrawn",
        body=f"On {day:%-d %B %Y}: {row.reason} To have it again you are shown it again.",
        url=reverse("sessions:induction-topic", args=[row.topic.code]),
    )


def _company(visit: Session, rules: HouseRules) -> Fact:
    key = f"session:{visit.pk}:company:{_stamp(visit)}"
    starts, ends = (at.astimezone(rules.tz) for at in (visit.starts_at, visit.ends_at))
    when = f"{starts:%A %-d %B} from {starts:%H:%M} to {ends:%H:%M}"
    if visit.cancelled_at is not None:
        return Fact(f"{key}:off", f"{visit.member} does not need you as company", when, "")
    return Fact(
        key,
        f"{visit.member} counts on you as company",
        f"{when}: {visit.process} in {visit.vessel}. If you cannot be there, tell them in time.",
        "",
    )


def _when(visit: Session, rules: HouseRules) -> str:
    return f"{visit.member}, {visit.starts_at.astimezone(rules.tz):%-d %B, %H:%M}"


def _stamp(visit: Session) -> str:
    """Another one once the session is moved."""
    return f"{visit.starts_at:%Y%m%dT%H%M}"
