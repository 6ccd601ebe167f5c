"""What the house has told this member."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, open_to_readers
from sessions.models import Notice

A_PAGE = 30


@require_safe
def notices(request: MemberRequest) -> HttpResponse:
    found = Paginator(Notice.objects.filter(member=request.user), A_PAGE)
    unseen = Notice.objects.filter(member=request.user, seen_at__isnull=True).count()
    context = {"page": found.get_page(request.GET.get("page")), "unseen": unseen}
    return page(request, "sessions/notices.html", context, partials={"notices"})


@open_to_readers
@require_POST
def notice_seen(request: MemberRequest, pk: int) -> HttpResponse:
    """Mark one as seen and go to what it is about."""
    notice = get_object_or_404(Notice, pk=pk, member=request.user)
    if notice.seen_at is None:
        notice.seen_at = timezone.now()
        notice.save(update_fields=["seen_at"])
    return see_other(request, notice.url or reverse("sessions:notices"))


@open_to_readers
@require_POST
def notices_seen(request: MemberRequest) -> HttpResponse:
    unseen = Notice.objects.filter(member=request.user, seen_at__isnull=True)
    unseen.update(seen_at=timezone.now())
    return see_other(request, reverse("sessions:notices"))
