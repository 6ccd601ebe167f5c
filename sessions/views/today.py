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
from sessions import bottles, day, hands, runcard
from sessions.bottles import Bottle
from sessions.models import Notice, Session
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
    is_steward = member.is_steward
    open_day = day.today(member, at=now, rules=rules)
    context = {
        "now": now,
        "card": _next_card(request, now),
        "unrecorded": _unrecorded(request, now),
        "hands": hands.needed(found, at=now, rules=rules) if is_steward else [],
        "notices": Notice.objects.filter(member=member, seen_at__isnull=True)[:FEW_NOTICES],
        "may_do": doings(member, at=now),
        "shelf": sorted(found, key=_worst_first) if member.may_audit else _usable(found),
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


def _usable(found: list[Bottle]) -> list[Bottle]:
    return sorted((b for b in found if b.verdict.is_usable), key=lambda b: (b.role, b.batch.code))


def _worst_first(bottle: Bottle) -> tuple[int, str]:
    return bottle.rank, bottle.batch.code
