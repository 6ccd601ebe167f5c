"""The front page: what this person has to know and do now."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q
from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from darkroom.htmx import page
from darkroom.http import MemberRequest
from darkroom.inducted import doings
from darkroom.models import HouseRules, Member
from sessions import bottles, day, hands, runcard
from sessions.bottles import Bottle
from sessions.first_steps import first_steps
from sessions.hands import Hand
from sessions.models import Notice, Session
from sessions.models.notices import NoticeKind
from sessions.runcard import RunCard
from sessions.views.visit import sessions_for

FEW_NOTICES = 5
FEW_UNRECORDED = 5


@require_safe
def today(request: MemberRequest) -> HttpResponse:
    now, member, rules = timezone.now(), request.user, request.house
    found = bottles.shown(
        bottles.visible_to(member).open(),
        at=now,
        rules=rules,
        size=bottles.usual_format(member),
    )
    waiting = _hands(member, found, at=now, rules=rules)
    open_day = day.today(member, at=now, rules=rules)
    context = {
        "now": now,
        "card": _next_card(request, now),
        "unrecorded": _unrecorded(request, now),
        "hands": waiting,
        "notices": _notices(member),
        "may_do": doings(member, at=now),
        "shelf": _shelf(member, found, waiting),
        "day": open_day,
        "why_closed": "" if open_day else day.why_closed(now.astimezone(rules.tz).date()),
    }
    return page(request, "sessions/today.html", context)


def _next_card(request: MemberRequest, at: datetime) -> RunCard | None:
    """The run card of the session that is on or comes next."""
    own = sessions_for(request.user).filter(member=request.user)
    coming = own.filter(cancelled_at__isnull=True, ended_at__isnull=True, ends_at__gt=at)
    visit = coming.order_by("starts_at").first()
    return None if visit is None else runcard.card(visit, at=at, rules=request.house)


def _unrecorded(request: MemberRequest, at: datetime) -> list[Session]:
    past = Session.objects.live().filter(
        Q(ended_at__isnull=True), member=request.user, ends_at__lte=at
    )
    return list(past.select_related("vessel").order_by("-starts_at")[:FEW_UNRECORDED])


def _hands(member: Member, found: list[Bottle], *, at: datetime, rules: HouseRules) -> list[Hand]:
    if not member.is_steward:
        return []
    steps = [] if found else list(first_steps(member, rules=rules))
    return steps + hands.needed(found, at=at, rules=rules)


def _notices(member: Member) -> list[Notice]:
    """The newest unseen ones; what a steward is told of the house stands under hands needed."""
    found = Notice.objects.filter(member=member, seen_at__isnull=True)
    if member.is_steward:
        found = found.filter(kind=NoticeKind.SESSION_AFFECTED)
    return list(found[:FEW_NOTICES])


def _shelf(member: Member, found: list[Bottle], waiting: list[Hand]) -> list[Bottle]:
    """What can be used; whoever may audit sees the rest too, unless it waits for hands above."""
    if not member.may_audit:
        usable = (bottle for bottle in found if bottle.verdict.is_usable)
        return sorted(usable, key=lambda bottle: (bottle.role, bottle.batch.code))
    above = [hand.bottle for hand in waiting if hand.bottle is not None]
    return sorted((bottle for bottle in found if bottle not in above), key=_worst_first)


def _worst_first(bottle: Bottle) -> tuple[int, str]:
    return bottle.rank, bottle.batch.code
