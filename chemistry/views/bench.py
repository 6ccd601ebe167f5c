"""The everyday sums, without a booking. Nothing is stored: the address holds the figures."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from chemistry.bench.house import Bench
from chemistry.bench.registry import BY_SLUG, by_group
from chemistry.bench.sum import Group, Sum
from chemistry.bench.working import blank, work_out
from chemistry.views.answers import INVALID
from darkroom.htmx import page
from darkroom.http import MemberRequest


@dataclass(frozen=True)
class Card:
    """A sum on the page of all, with what its example comes to."""

    sum: Sum
    example: str


@dataclass(frozen=True)
class CardGroup:
    group: Group
    cards: tuple[Card, ...]


@require_safe
def overview(request: MemberRequest) -> HttpResponse:
    bench = _bench(request)
    groups = [
        CardGroup(group, tuple(_card(one, bench) for one in members))
        for group, members in by_group()
    ]
    return page(request, "chemistry/bench.html", {"groups": groups})


@require_safe
def bench_sum(request: MemberRequest, slug: str) -> HttpResponse:
    """Asked with nothing it shows its fields; while somebody types, empty ones are no mistake."""
    one = BY_SLUG.get(slug)
    if one is None:
        raise Http404
    bench = _bench(request)
    worked = (
        work_out(one, request.GET, bench, is_typing=bool(request.htmx))
        if request.GET
        else blank(one, bench)
    )
    context = {
        "sum": one,
        "worked": worked,
        "form": worked.form,
        "answer": worked.answer,
        "example": urlencode(one.example(bench)),
        "others": by_group(),
    }
    status = INVALID if worked.is_refused else 200
    return page(request, "chemistry/bench_sum.html", context, partials={"answer"}, status=status)


def _bench(request: MemberRequest) -> Bench:
    return Bench(request.user, request.house, timezone.now())


def _card(one: Sum, bench: Bench) -> Card:
    answer = work_out(one, one.example(bench), bench).answer
    return Card(one, answer.sentence if answer else "")
