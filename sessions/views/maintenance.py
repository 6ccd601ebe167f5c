"""Equipment out of service: taking it out with what that hits in view, and putting it back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from chemistry.forms.fields import KeyedForm
from chemistry.views.answers import attempt
from darkroom.forms import posted
from darkroom.htmx import page, see_other
from darkroom.http import MemberRequest, steward_required
from darkroom.models import Equipment
from sessions import displacing
from sessions.forms.maintenance import OutForm
from sessions.maintaining import (
    end_maintenance,
    plan_maintenance,
    put_back_in_service,
    take_out_of_service,
)
from sessions.models import Maintenance, Session


@steward_required
@require_http_methods(["GET", "HEAD", "POST"])
def equipment_out(request: MemberRequest, code: str) -> HttpResponse:
    """What it hits is listed first; sent again with the same list in view, it is done."""
    now, piece = timezone.now(), piece_or_404(code)
    form = OutForm(posted(request), zone=request.house.tz, at=now)
    hits, status = None, 200
    if form.is_bound and form.is_valid():
        hits = displacing.hit(piece, form.out)
        if form.has_seen(hits):
            done, status = attempt(form, lambda got: _taken_out(piece, form, request, now))
            if done is not None:
                messages.success(request, f"{piece} is out of service {_how_long(form)}.")
                return see_other(request, item_url(piece))
        form.show(hits)
    elif form.is_bound:
        status = 422
    context = {"piece": piece, "form": form, "hits": hits}
    return page(request, "sessions/equipment_out.html", context, status=status)


@steward_required
@require_POST
def equipment_back(request: MemberRequest, code: str) -> HttpResponse:
    now, piece = timezone.now(), piece_or_404(code)
    return _back(
        request,
        piece,
        lambda got: put_back_in_service(equipment=piece, key=got["key"], by=request.user, at=now),
    )


@steward_required
@require_POST
def maintenance_end(request: MemberRequest, pk: int) -> HttpResponse:
    now = timezone.now()
    found = get_object_or_404(Maintenance.objects.select_related("equipment"), pk=pk)
    return _back(
        request,
        found.equipment,
        lambda got: end_maintenance(maintenance=found, key=got["key"], by=request.user, at=now),
    )


def piece_or_404(code: str) -> Equipment:
    if "\x00" in code:
        raise Http404
    return get_object_or_404(Equipment, code=code)


def item_url(piece: Equipment) -> str:
    return reverse("sessions:equipment-item", args=[piece.code])


def _taken_out(
    piece: Equipment, form: OutForm, request: MemberRequest, at: datetime
) -> Equipment | Maintenance:
    got, (starts_at, ends_at) = form.cleaned_data, form.out
    shared: dict[str, Any] = {
        "equipment": piece,
        "reason": got["reason"],
        "key": got["key"],
        "by": request.user,
        "at": at,
    }
    if ends_at is None:
        return take_out_of_service(**shared)
    return plan_maintenance(starts_at=starts_at, ends_at=ends_at, **shared)


def _how_long(form: OutForm) -> str:
    return "until further notice" if form.out[1] is None else "for that time"


def _back(
    request: MemberRequest, piece: Equipment, act: Callable[[dict[str, Any]], Sequence[Session]]
) -> HttpResponse:
    form = KeyedForm(request.POST)
    served, _ = attempt(form, act)
    if served is None:
        messages.error(request, " ".join(str(error) for error in form.non_field_errors()))
    elif served:
        who = ", ".join(str(visit.member) for visit in served)
        messages.success(request, f"{piece} is back. Who lost it has it again: {who}.")
    else:
        messages.success(request, f"{piece} is back.")
    return see_other(request, item_url(piece))
