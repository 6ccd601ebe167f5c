"""The session's page: its run card before, its record afterwards."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID, uuid4

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from chemistry.forms.fields import KeyedForm
from chemistry.views.answers import attempt
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from darkroom.inducted import Lack
from darkroom.models import Member
from sessions import admission, company, faults, let_down, runcard
from sessions.effects import effects, told
from sessions.leaving import end_session
from sessions.models import Run, Session
from sessions.strips import strip_of_session
from sessions.views.again import session_again_url


def sessions_for(member: Member) -> QuerySet[Session]:
    """Sessions this member may see, with what the run card reads."""
    return (
        Session.objects.visible_to(member)
        .select_related("process", "vessel", "member", "companion")
        .prefetch_related(
            "process__steps",
            "lines__film",
            "lines__format",
            "lines__vessel",
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
    may_act = found.is_changed_by(request.user)
    is_run = any(run.voided_at is None for run in runs)
    may_change = may_act and found.is_open()
    context = {
        "visit": found,
        "card": runcard.card(found, at=now, rules=request.house),
        "strip": strip_of_session(found, request.house.tz),
        "done": [(run, done[run.pk]) for run in runs],
        "may_act": may_act and found.cancelled_at is None,
        "may_move": may_change and not is_run and not found.has_begun(at=now),
        "may_cancel": may_change and not is_run,
        "may_end": may_change and is_run,
        "end_key": uuid4(),
        "may_fetch": may_change and found.ends_at > now,
        "fetch_key": uuid4(),
        "is_over": found.ends_at <= now,
        "again_url": session_again_url(found),
        "lack": _lack(found, request, now),
        "doubtful": faults.doubtful(found),
        "lost": let_down.lost_sentence(found),
        "gaps": company.gaps_of(found, rules=request.house, at=now),
    }
    return page(request, "sessions/visit.html", context)


def _lack(visit: Session, request: MemberRequest, at: datetime) -> Lack | None:
    if not visit.is_open() or visit.ends_at <= at:
        return None
    return admission.lack_of(visit, rules=request.house, at=at)


@writer_required
@require_POST
def visit_end(request: MemberRequest, code: UUID) -> HttpResponse:
    now = timezone.now()
    found = get_object_or_404(Session.objects.visible_to(request.user), code=code)
    form = KeyedForm(request.POST)
    done, _ = attempt(
        form, lambda got: end_session(visit=found, key=got["key"], by=request.user, at=now)
    )
    if done is None:
        messages.error(request, " ".join(str(error) for error in form.non_field_errors()))
    else:
        messages.success(request, "Done. What the session still held is free for the others.")
    return see_other(request, found.get_absolute_url())
