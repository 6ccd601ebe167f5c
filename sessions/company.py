"""Not alone with colour and toner, where the house says so.

1. The rule holds for processes that are colour or toner work, if the house has it.
2. Somebody else is there while other members have sessions booked; together these have to cover
   the whole session, from its start until its place is cleared away.
3. Or a member is named as company. They are told, and the session counts on them.
4. A session of others that is moved or cancelled afterwards does not undo the booking: its member
   and the stewards are told that it is left alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from chemistry.models import Process
from darkroom.errors import DomainError
from darkroom.models import HouseRules, Member
from sessions.models import Session
from sessions.planning import slots
from sessions.planning.localtime import epoch_s, from_epoch

Span = tuple[datetime, datetime]


class WouldBeAlone(DomainError):
    """Nobody else is in the house for all of the session."""

    code = "alone"


class NoCompany(DomainError):
    """Whoever was named cannot be company."""

    code = "no_company"


def is_asked(process: Process, rules: HouseRules) -> bool:
    """Whether somebody else has to be there."""
    return rules.no_colour_alone and process.is_colour_or_toner


def others_there(member_id: int, span: Span, *, ignoring: int | None = None) -> list[slots.Range]:
    """When other members have a session between two moments, in whole seconds."""
    rows = Session.objects.live().filter(
        ended_at__isnull=True, starts_at__lt=span[1], ends_at__gt=span[0]
    )
    times = rows.exclude(member=member_id).values_list("pk", "starts_at", "ends_at")
    return slots.normal(
        (epoch_s(starts), epoch_s(ends)) for pk, starts, ends in times if pk != ignoring
    )


def others_sentence(member: Member, day: date, zone: ZoneInfo) -> str:
    """When others are booked on a day of the house."""
    starts = datetime.combine(day, time(), zone)
    there = others_there(member.pk, (starts, starts + timedelta(days=1)))
    if not there:
        return "Nobody else is booked that day."
    local = [tuple(from_epoch(s).astimezone(zone) for s in span) for span in there]
    when = " and ".join(f"from {low:%H:%M} to {high:%H:%M}" for low, high in local)
    return f"Others are booked that day {when}."


def alone(span: Span, there: Iterable[slots.Range]) -> list[Span]:
    """The parts of the span in which none of the others is there."""
    low, high = epoch_s(span[0]), epoch_s(span[1])
    gaps = []
    for starts, ends in [*there, (high, high)]:
        if low < min(starts, high):
            gaps.append((from_epoch(low), from_epoch(min(starts, high))))
        low = max(low, ends)
    return gaps


def check_company(
    span: Span,
    *,
    by: Member,
    companion: Member | None,
    rules: HouseRules,
    later: Callable[[], Iterable[datetime]] = tuple,
    ignoring: int | None = None,
) -> None:
    """Somebody is named, or others are there for all of it.  Raises: WouldBeAlone, NoCompany.

    ``later`` gives other starts; the first with company is named in the refusal.
    """
    if companion is not None:
        _check_companion(companion, by)
        return
    gaps = alone(span, others_there(by.pk, span, ignoring=ignoring))
    if gaps:
        said = [alone_sentence(gaps, rules.tz), _instead(span, later(), by, rules)]
        raise WouldBeAlone(" ".join(filter(None, said)), field="companion")


def alone_sentence(gaps: Iterable[Span], zone: ZoneInfo) -> str:
    when = " and ".join(
        f"from {starts.astimezone(zone):%H:%M} to {ends.astimezone(zone):%H:%M}"
        for starts, ends in gaps
    )
    return f"Nobody else is booked {when}, and this house does no colour or toner work alone."


def _check_companion(companion: Member, by: Member) -> None:
    if companion == by:
        raise NoCompany("Name somebody else; you are there anyway.", field="companion")
    if not companion.is_active or not companion.may_write:
        raise NoCompany(f"{companion} does not work in this house.", field="companion")


def _instead(span: Span, later: Iterable[datetime], by: Member, rules: HouseRules) -> str:
    starts, lasts = list(later), span[1] - span[0]
    if starts:
        there = others_there(by.pk, (starts[0], starts[-1] + lasts))
        for start in starts:
            if not alone((start, start + lasts), there):
                local = start.astimezone(rules.tz)
                return f"On {local:%A %-d %B at %H:%M} others are there; or name who comes along."
    return "Name who comes along, or start while others are booked."


def gaps_of(visit: Session, *, rules: HouseRules, at: datetime) -> str:
    """When somebody would be alone in a session to come that does not allow it; empty: never."""
    has_company = visit.companion is not None and visit.companion.is_active
    if has_company or not visit.is_open() or visit.has_begun(at=at):
        return ""
    if not is_asked(visit.process, rules):
        return ""
    span = (visit.starts_at, visit.ends_at)
    gaps = alone(span, others_there(visit.member_id, span, ignoring=visit.pk))
    return alone_sentence(gaps, rules.tz) if gaps else ""


def left_alone(*, rules: HouseRules, at: datetime) -> list[tuple[Session, list[Span]]]:
    """Sessions to come that the rule holds for and that nobody accompanies any more."""
    if not rules.no_colour_alone:
        return []
    ahead = Session.objects.live().filter(ended_at__isnull=True, starts_at__gt=at)
    without = Q(companion__isnull=True) | Q(companion__is_active=False)
    watched = list(
        ahead.filter(without, process__needs_held_temperature=True)
        .select_related("member", "vessel", "process")
        .order_by("starts_at", "pk")
    )
    if not watched:
        return []
    last = max(visit.ends_at for visit in watched)
    everybody = [
        (member, (epoch_s(starts), epoch_s(ends)))
        for member, starts, ends in Session.objects.live()
        .filter(ended_at__isnull=True, starts_at__lt=last, ends_at__gt=at)
        .values_list("member", "starts_at", "ends_at")
    ]
    found = []
    for visit in watched:
        others = slots.normal(span for member, span in everybody if member != visit.member_id)
        gaps = alone((visit.starts_at, visit.ends_at), others)
        if gaps:
            found.append((visit, gaps))
    return found
