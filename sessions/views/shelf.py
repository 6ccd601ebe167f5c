"""All bottles, and each one with its life."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from chemistry.figures import missing_figures
from chemistry.models import Condition, Figure, Role
from darkroom.htmx import page
from darkroom.http import MemberRequest
from darkroom.inducted import doings
from sessions import bottles, life
from sessions.bottles import Bottle
from sessions.models import Allotment


@dataclass(frozen=True)
class Group:
    label: str
    bottles: tuple[Bottle, ...]


@dataclass(frozen=True)
class Choice:
    """A filter with how many bottles it leaves."""

    value: str
    label: str
    count: int
    is_current: bool


@require_safe
def shelf(request: MemberRequest) -> HttpResponse:
    now = timezone.now()
    found = bottles.shown(
        bottles.visible_to(request.user).open(),
        at=now,
        rules=request.house,
        size=bottles.usual_format(request.user),
    )
    wanted = request.GET.get("state", "")
    kept = [bottle for bottle in found if wanted in ("", bottle.condition)]
    context = {
        "groups": by_role(kept),
        "choices": _choices(found, wanted),
        "is_empty_house": not found,
        "may_do": doings(request.user, at=now),
    }
    return page(request, "sessions/shelf.html", context, partials={"bottles"})


@require_safe
def batch(request: MemberRequest, code: str) -> HttpResponse:
    now, visible = timezone.now(), bottles.visible_to(request.user)
    pk = get_object_or_404(visible, code=code).pk
    size = bottles.usual_format(request.user)
    bottle = bottles.by_id([pk], at=now, rules=request.house, size=size)[pk]
    context = {
        "bottle": bottle,
        "gauge": bottle.gauge(),
        "may_do": doings(request.user, at=now),
        "promises": _promises(bottle),
        "life": life.page_of(bottle.batch, request.GET.get("page"), reader=request.user),
        "figures": _figures(bottle),
        "missing": [name.label for name in missing_figures(bottle.batch.way)],
    }
    return page(request, "sessions/batch.html", context, partials={"life"})


def by_role(found: Sequence[Bottle]) -> list[Group]:
    """Bottles of one role together, the worst first; the roles in the order of a process."""
    order = {role: place for place, role in enumerate(Role.values)}
    ranked = sorted(found, key=lambda b: (order[b.role], b.rank, b.batch.code))
    return [
        Group(Role(role).label, tuple(group)) for role, group in groupby(ranked, lambda b: b.role)
    ]


def _choices(found: Sequence[Bottle], wanted: str) -> list[Choice]:
    counts = Counter(bottle.condition for bottle in found)
    every = Choice("", "All", len(found), wanted == "")
    return [every] + [
        Choice(condition.value, condition.label, counts[condition], wanted == condition)
        for condition in Condition
        if counts[condition] or wanted == condition
    ]


def _promises(bottle: Bottle) -> list[Allotment]:
    lines = Allotment.objects.open().filter(batch=bottle.batch)
    return list(
        lines.select_related("session__member", "session__vessel", "step").order_by(
            "session__starts_at", "pk"
        )
    )


def _figures(bottle: Bottle) -> list[Figure]:
    return sorted(bottle.batch.way.figures.all(), key=lambda f: (f.get_name_display(), f.material))
