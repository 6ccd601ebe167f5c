"""Secret addresses of calendars, and what stands at them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.http import require_POST, require_safe

from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, VisitorRequest, writer_required
from darkroom.models import Equipment, Member
from sessions.calendars import calendar_of
from sessions.feeds import live_feed, make_feed, may_hold, revoke_feed
from sessions.forms.feed import FeedForm
from sessions.models import CalendarFeed

Kind = CalendarFeed.Kind
SESSIONS = (
    (Kind.MEMBER, "Your sessions", "When, what, and in which vessel."),
    (Kind.HOUSE, "All sessions of the house", "Everybody's, with names; for stewards only."),
)


@dataclass(frozen=True)
class Line:
    """A calendar that somebody can have, and the feed they have of it."""

    label: str
    says: str
    kind: str
    feed: CalendarFeed | None
    piece: Equipment | None = None


@writer_required
@require_safe
def calendars(request: MemberRequest) -> HttpResponse:
    return page(request, "sessions/calendars.html", {"groups": _groups(request.user)})


@writer_required
@require_POST
def calendar_make(request: MemberRequest) -> HttpResponse:
    """The only page that ever shows this address."""
    form = FeedForm(request.POST)
    if not form.is_valid() or not may_hold(request.user, form.cleaned_data["kind"]):
        raise Http404
    made = make_feed(**form.cleaned_data, by=request.user, at=timezone.now())
    path = reverse("sessions:calendar-feed", args=[made.token])
    labels = {kind: label for kind, label, _ in SESSIONS}
    context = {
        "made": made,
        "label": made.feed.equipment or labels[Kind(made.feed.kind)],
        "address": request.build_absolute_uri(path),
    }
    return page(request, "sessions/calendar_made.html", context)


@writer_required
@require_POST
def calendar_end(request: MemberRequest, pk: int) -> HttpResponse:
    feed = get_object_or_404(CalendarFeed.objects.filter(member=request.user), pk=pk)
    revoke_feed(feed, by=request.user, at=timezone.now())
    messages.success(request, "That address has ended. What was copied from it may stay a while.")
    return see_other(request, reverse("sessions:calendars"))


@login_not_required
@require_safe
def calendar_feed(request: VisitorRequest, token: str) -> HttpResponseBase:
    """The calendar itself, for a program that cannot sign in: the address is the key."""
    feed = live_feed(token)
    if feed is None:
        raise Http404
    body = calendar_of(
        feed, rules=request.house, link=request.build_absolute_uri, at=timezone.now()
    )
    etag = quote_etag(hashlib.sha256(body).hexdigest())
    headers = {"ETag": etag, "Cache-Control": "private, no-cache"}
    whole = HttpResponse(body, content_type="text/calendar; charset=utf-8", headers=headers)
    return get_conditional_response(request, etag=etag, response=whole) or whole


def _groups(member: Member) -> list[tuple[str, list[Line]]]:
    live = CalendarFeed.objects.live().filter(member=member)
    feeds = {(feed.kind, feed.equipment_id): feed for feed in live}
    of_sessions = [
        Line(label, says, kind, feeds.get((kind, None)))
        for kind, label, says in SESSIONS
        if may_hold(member, kind)
    ]
    of_pieces = [
        Line(
            f"{piece}",
            piece.get_kind_display(),
            Kind.EQUIPMENT,
            feeds.get((Kind.EQUIPMENT, piece.pk)),
            piece,
        )
        for piece in Equipment.objects.all()
    ]
    return [("Sessions", of_sessions), ("Equipment", of_pieces)]
