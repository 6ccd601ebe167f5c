"""What stands in the house, what each piece takes, and when it is free."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import uuid4

from django.db.models import Prefetch, QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_safe

from darkroom.htmx import page
from darkroom.http import MemberRequest
from darkroom.models import Equipment, EquipmentKind, HouseRules
from sessions import day as days
from sessions.models import Fault, Maintenance
from sessions.starts import FreeTime


@dataclass(frozen=True)
class Piece:
    """A piece with the next time that nobody has it and the house is open."""

    equipment: Equipment
    free_from: datetime | None
    free_until: datetime | None
    is_free_now: bool


@dataclass(frozen=True)
class Group:
    label: str
    pieces: list[Piece]


@require_safe
def equipment(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    found = list(_described(now).order_by("code"))
    pieces = next_free(found, at=now, rules=request.house)
    groups = [
        Group(kind.label, [piece for piece in pieces if piece.equipment.kind == kind])
        for kind in EquipmentKind
    ]
    return page(request, "sessions/equipment.html", {"groups": [g for g in groups if g.pieces]})


@require_safe
def equipment_item(request: MemberRequest, code: str) -> HttpResponse:
    now = timezone.now()
    if "\x00" in code:
        raise Http404
    piece = get_object_or_404(_described(now), code=code)
    today = now.astimezone(request.house.tz).date()
    day = _day(request.GET.get("day", ""), today)
    url = reverse("sessions:equipment-item", args=[piece.code])
    strip = days.day_of(request.user, day, rules=request.house, piece=piece)
    context = {
        "piece": next_free([piece], at=now, rules=request.house)[0],
        "day": day,
        "strip": strip,
        "why_closed": "" if strip else days.why_closed(day),
        "key": uuid4(),
        "now": now if day == today else None,
        "before": f"{url}?day={day - timedelta(days=1)}",
        "after": f"{url}?day={day + timedelta(days=1)}",
    }
    return page(request, "sessions/equipment_item.html", context, partials={"day"})


def next_free(found: list[Equipment], *, at: datetime, rules: HouseRules) -> list[Piece]:
    """When each piece is free next, within a fortnight; one query for all of them."""
    first = at.astimezone(rules.tz).date()
    free = FreeTime([piece.pk for piece in found], first=first, rules=rules, at=at)
    return [_piece(piece, free, at) for piece in found]


def _piece(piece: Equipment, free: FreeTime, at: datetime) -> Piece:
    stretch = free.next_stretch(piece.pk) if piece.is_in_service else None
    if stretch is None:
        return Piece(piece, None, None, False)
    starts, ends = stretch
    return Piece(piece, starts, ends, starts <= at + timedelta(seconds=1))


def _described(at: datetime) -> QuerySet[Equipment]:
    """With what a piece takes, its open faults, and when it is or will be out of service."""
    standing: QuerySet[Any] = Maintenance.objects.standing(at=at).order_by("period", "pk")
    outages: Any = Prefetch("maintenances", standing, to_attr="outages")
    faults: QuerySet[Any] = Fault.objects.open().select_related("reported_by")
    open_faults: Any = Prefetch("faults", faults, to_attr="open_faults")
    return Equipment.objects.prefetch_related("agitations", "fits__format", outages, open_faults)


def _day(asked: str, today: date) -> date:
    """The day asked for, if it is one and not absurdly far away; else today."""
    try:
        day = parse_date(asked)
    except ValueError:
        day = None
    return day if day and abs((day - today).days) < 3650 else today
