"""Telling people, once per fact, that a bottle turned bad or a session was not recorded.

Everything here runs inside somebody's transaction or in the worker, reads without locks and only
inserts notices. Who is told of a bottle: whoever holds an open allotment on it, and every steward,
save of what is poured out, which is their own work.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Q
from django.urls import reverse

from chemistry.conditions import Condition, Verdict, verdict
from chemistry.models import Batch, MovementKind
from darkroom.models import HouseRules, Member, Role
from sessions.models import Allotment, Notice, Session
from sessions.models.notices import NoticeKind

BAD = frozenset(
    {
        Condition.SPENT,
        Condition.OWED,
        Condition.OUT_OF_DATE,
        Condition.STOPPED,
        Condition.EMPTY,
        Condition.DISCARDED,
    }
)
OVERDUE_AFTER = timedelta(hours=12)


@dataclass(frozen=True)
class Fact:
    """Something that became true once; ``key`` tells it from the next time it does.

    ``is_their_doing``: the stewards brought it about, and need not be told.
    """

    key: str
    subject: str
    body: str
    url: str
    is_their_doing: bool = False


def batches_changed(batch_ids: Iterable[int], *, at: datetime) -> None:
    """Insert the notices of every bottle among these that is bad now."""
    rules = HouseRules.current()
    facts: dict[int, Fact] = {}
    for batch in Batch.objects.for_verdict().filter(pk__in=set(batch_ids)).order_by("pk"):
        found = verdict(batch, at=at, rules=rules)
        if found.condition in BAD:
            facts[batch.pk] = _bad_batch(batch, found)
    if facts:
        _tell_of_batches(facts, at=at)


def out_of_date(*, at: datetime) -> None:
    """Look for bottles that the clock alone turned bad."""
    batches_changed(
        Batch.objects.open().filter(good_until__lte=at).values_list("pk", flat=True), at=at
    )


def overdue(*, at: datetime) -> None:
    """Tell the member and the stewards of sessions that ended long ago and were not recorded."""
    late = (
        Session.objects.live()
        .filter(ended_at__isnull=True, ends_at__lte=at - OVERDUE_AFTER)
        .select_related("member", "vessel")
    )
    stewards = steward_ids()
    rules = HouseRules.current()
    notices = []
    for visit in late:
        fact = _overdue(visit, rules)
        people = {visit.member_id, *stewards}
        notices += [notice_of(pk, NoticeKind.OVERDUE, fact, at) for pk in people]
    insert(notices)


def _bad_batch(batch: Batch, found: Verdict) -> Fact:
    condition = found.condition
    return Fact(
        key=f"batch:{batch.pk}:{condition.value}:{_serial(batch, condition)}",
        subject=f"{batch.code}: {condition.label.lower()}",
        body=found.sentence,
        url=reverse("sessions:batch", args=[batch.code]),
        is_their_doing=condition == Condition.DISCARDED,
    )


def _serial(batch: Batch, condition: Condition) -> str:
    """What changes when the bottle was set right in between, and only then."""
    if condition == Condition.STOPPED:
        return str(max(stop.pk for stop in batch.stops.all() if stop.released_at is None))
    if condition == Condition.OUT_OF_DATE and batch.good_until is not None:
        return f"{batch.good_until:%Y%m%dT%H%M%S}"
    if condition == Condition.DISCARDED and batch.discarded_at is not None:
        return f"{batch.discarded_at:%Y%m%dT%H%M%S}"
    cures = batch.account.incoming.filter(kind__in=(MovementKind.MIX, MovementKind.REPLENISH))
    voids = batch.uses.aggregate(n=Count("pk", filter=Q(voids__isnull=False)))["n"]
    return f"{cures.count()}-{voids}"


def _tell_of_batches(facts: dict[int, Fact], *, at: datetime) -> None:
    held = (
        Allotment.objects.open()
        .filter(batch__in=facts)
        .select_related("session")
        .order_by("session__starts_at")
    )
    stewards = steward_ids()
    notices = [
        notice_of(pk, NoticeKind.BATCH_BAD, fact, at)
        for fact in facts.values()
        if not fact.is_their_doing
        for pk in stewards
    ]
    for allotment in held:
        if allotment.batch_id is not None:
            fact = _let_down(facts[allotment.batch_id], allotment.session)
            notices.insert(
                0, notice_of(allotment.session.member_id, NoticeKind.SESSION_AFFECTED, fact, at)
            )
    insert(notices)


def _let_down(fact: Fact, visit: Session) -> Fact:
    return Fact(
        key=fact.key,
        subject=f"{fact.subject} – your session needs another bottle",
        body=f"{fact.body} Your session counts on it: look for another bottle or another time.",
        url=visit.get_absolute_url(),
    )


def _overdue(visit: Session, rules: HouseRules) -> Fact:
    ended = visit.ends_at.astimezone(rules.tz)
    return Fact(
        key=f"session:{visit.pk}:overdue",
        subject=f"Not recorded: {visit.member} in {visit.vessel}, {ended:%-d %B}",
        body=(
            f"The session ended on {ended:%-d %B at %H:%M} and nothing was recorded. What it "
            "took still counts as promised. Record what was run, or cancel it if nothing was."
        ),
        url=visit.get_absolute_url(),
    )


def steward_ids() -> list[int]:
    stewards = Member.objects.filter(is_active=True, role__in=(Role.STEWARD, Role.ADMINISTRATOR))
    return list(stewards.values_list("pk", flat=True))


def notice_of(member_id: int, kind: NoticeKind, fact: Fact, at: datetime) -> Notice:
    return Notice(
        member_id=member_id,
        kind=kind,
        fact_key=fact.key,
        subject=fact.subject[:200],
        body=fact.body,
        url=fact.url,
        created_at=at,
    )


def insert(notices: list[Notice]) -> None:
    """One row per member and fact, in key order, so that two inserters never wait in a ring."""
    first: dict[tuple[int, str], Notice] = {}
    for notice in notices:
        first.setdefault((notice.member_id, notice.fact_key), notice)
    Notice.objects.bulk_create([first[key] for key in sorted(first)], ignore_conflicts=True)
