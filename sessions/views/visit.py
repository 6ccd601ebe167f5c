"""The session's page: its run card before, its record afterwards."""

from __future__ import annotations

from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from darkroom.htmx import page
from darkroom.http import MemberRequest
from darkroom.models import Member
from sessions import runcard
from sessions.effects import effects, told
from sessions.models import Run, Session


def sessions_for(member: Member) -> QuerySet[Session]:
    """Sessions this member may see, with what the run card reads."""
    return (
        Session.objects.visible_to(member)
        .select_related("process", "vessel", "member")
        .prefetch_related(
            "process__steps",
            "lines__film",
            "lines__format",
            "lines__time_row__points",
            "lines__time_row__film",
            "lines__time_row__developer",
            "allotments__step",
            "allotments__way__figures",
            "allotments__way__version__recipe",
            "runs",
        )
    )


@require_safe
def visit(request: MemberRequest, code: UUID) -> HttpResponse:
    now = timezone.now()
    found = get_object_or_404(sessions_for(request.user), code=code)
    runs = list(told(Run.objects.filter(session=found)).order_by("happened_at", "pk"))
    done = effects(runs, at=now, rules=request.house)
    is_own = request.user.is_steward or found.member_id == request.user.pk
    context = {
        "visit": found,
        "card": runcard.card(found, at=now, rules=request.house),
        "done": [(run, done[run.pk]) for run in runs],
        "may_act": is_own and request.user.may_write and found.cancelled_at is None,
        "may_change": is_own and found.is_open() and now < found.ends_at and not runs,
        "is_over": found.ends_at <= now,
    }
    return page(request, "sessions/visit.html", context)
