"""Sessions in a list, and what can be done with one before it begins."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from chemistry.forms.fields import KeyedForm
from chemistry.views.answers import attempt
from darkroom.errors import DomainError
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, writer_required
from sessions.cancelling import cancel_session
from sessions.fetching import fetch_bottles
from sessions.forms.move import CancelForm, MoveForm
from sessions.models import Session
from sessions.moving import move_session
from sessions.offers import starts_of
from sessions.views.answering import Day, by_day

A_PAGE = 30
TAKEN = 409


@require_safe
def visits(request: MemberRequest) -> HttpResponse:
    """What is still to come, then what has been; stewards and auditors see everybody's."""
    now = timezone.now()
    found = _listed(Session.objects.visible_to(request.user))
    ahead = found.live().filter(ended_at=None, ends_at__gt=now).order_by("starts_at", "pk")
    behind = found.exclude(pk__in=ahead.values("pk")).order_by("-starts_at", "-pk")
    context = {
        "ahead": Paginator(ahead, A_PAGE).get_page(request.GET.get("ahead")),
        "behind": Paginator(behind, A_PAGE).get_page(request.GET.get("page")),
        "now": now,
    }
    return page(request, "sessions/visits.html", context)


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def move(request: MemberRequest, code: UUID) -> HttpResponse:
    at = timezone.now()
    visit = get_object_or_404(_listed(Session.objects.visible_to(request.user)), code=code)
    form, days = _move_form(request, visit, at)
    status = 200
    if form.is_bound:
        moved, status = attempt(form, lambda _: _moved(request, visit, form, at))
        if moved is not None:
            starts = date_format(timezone.localtime(moved.starts_at), "l j F, H:i")
            messages.success(request, f"Moved to {starts}.")
            return see_other(request, moved.get_absolute_url())
    if status == TAKEN:
        form.offer_starts(next((day.starts for day in days if day.is_shown), ()))
    context = {"visit": visit, "form": form, "days": days}
    return page(request, "sessions/visit_move.html", context, partials={"move"}, status=status)


@writer_required
@require_http_methods(["GET", "HEAD", "POST"])
def cancel(request: MemberRequest, code: UUID) -> HttpResponse:
    at = timezone.now()
    visit = get_object_or_404(_listed(Session.objects.visible_to(request.user)), code=code)
    form = CancelForm(posted(request))
    status = 200
    if form.is_bound:
        done, status = attempt(
            form,
            lambda got: cancel_session(visit=visit, key=got["key"], by=request.user, at=at),
        )
        if done is not None:
            messages.success(request, "Cancelled. What it kept is free for the others again.")
            return see_other(request, reverse("sessions:visits"))
    context = {"visit": visit, "form": form, "is_past": visit.ends_at <= at}
    return page(request, "sessions/visit_cancel.html", context, status=status)


@writer_required
@require_POST
def fetch(request: MemberRequest, code: UUID) -> HttpResponse:
    """Promise the session bottles for the steps that have none, or none that will do."""
    visit = get_object_or_404(Session.objects.visible_to(request.user), code=code)
    form, at = KeyedForm(request.POST), timezone.now()
    done, _ = attempt(
        form, lambda got: fetch_bottles(visit=visit, key=got["key"], by=request.user, at=at)
    )
    if done is None:
        messages.warning(request, " ".join(str(error) for error in form.non_field_errors()))
    else:
        messages.success(request, "The bottles that serve are promised to this session now.")
    return see_other(request, visit.get_absolute_url())


def _listed(found: QuerySet[Session]) -> Any:
    return found.select_related("member", "vessel", "process").prefetch_related(
        "lines__film", "lines__format"
    )


def _moved(request: MemberRequest, visit: Session, form: MoveForm, at: datetime) -> Session:
    got = form.cleaned_data
    try:
        return move_session(
            visit=visit, starts_at=got["starts_at"], key=got["key"], by=request.user, at=at
        )
    except DomainError as refusal:
        refusal.field = form.place_of(refusal.field)
        raise


def _move_form(request: MemberRequest, visit: Session, at: datetime) -> tuple[MoveForm, list[Day]]:
    """The free starts by day, those of the day asked for in the form."""
    zone = request.house.tz
    starts = starts_of(visit, at=at)
    found = by_day(starts, zone)
    data = posted(request)
    asked = request.GET.get("day", "") or request.POST.get("start", "")[:10]
    shown = _shown(asked, found)
    url = reverse("sessions:visit-move", args=[visit.code])
    days = [Day(day, free, f"{url}?day={day}", day == shown) for day, free in found]
    free = next((day.starts for day in days if day.is_shown), ())
    return MoveForm(data, starts=free, zone=zone), days


def _shown(asked: str, found: list[tuple[date, tuple[datetime, ...]]]) -> date | None:
    days = [day for day, _ in found]
    try:
        wanted = parse_date(asked)
    except ValueError:
        wanted = None
    return wanted if wanted in days else next(iter(days), None)
