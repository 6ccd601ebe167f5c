"""The life of a bottle as one list: mixed, used, topped up, stopped, voided, poured out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import CharField, F, QuerySet, Value
from django.urls import reverse

from chemistry.models import Batch, BatchStop, Movement, MovementKind, Use
from chemistry.volumes import ml_text
from darkroom.models import Member

A_PAGE = 20
TOLD = (
    MovementKind.MIX,
    MovementKind.REPLENISH,
    MovementKind.BLEED,
    MovementKind.POUR,
    MovementKind.SPILL,
    MovementKind.CORRECT,
    MovementKind.SHORTFALL,
)
"""Carry-over and draws belong to a use, which is told itself."""

GAINED = {
    MovementKind.MIX: "Mixed: {ml}",
    MovementKind.REPLENISH: "Topped up by {ml}",
    MovementKind.SHORTFALL: "{ml} more was used than it was thought to hold",
}
LOST = {
    MovementKind.BLEED: "{ml} poured off to make room",
    MovementKind.POUR: "{ml} poured out",
    MovementKind.SPILL: "{ml} did not come back",
    MovementKind.SHORTFALL: "{ml} more came back than it holds",
}


@dataclass(frozen=True)
class Event:
    happened_at: datetime
    says: str
    by: str = ""
    url: str = ""


def page_of(batch: Batch, number: str | None, *, reader: Member) -> Page[Any]:
    """One page of events, newest first; every page takes the same few queries."""
    page = Paginator(_keys(batch), A_PAGE).get_page(number)
    page.object_list = _events([key[:3] for key in page.object_list], reader)
    return page


def _keys(batch: Batch) -> QuerySet[Any]:
    """What kind of event, which row, when; joined by the database so that it can be cut there."""
    moves = (batch.account.outgoing.all() | batch.account.incoming.all()).filter(
        kind__in=TOLD, reverses__isnull=True, reversed_by__isnull=True
    )
    stops = BatchStop.objects.filter(batch=batch)
    released = stops.filter(released_at__isnull=False)
    others = (
        _key(Use.objects.filter(batch=batch, voids__isnull=True), "use", "happened_at"),
        _key(Use.objects.filter(batch=batch, voids__isnull=False), "void", "entered_at"),
        _key(stops, "stop", "stopped_at"),
        _key(released, "release", "released_at"),
    )
    mixed = moves.filter(kind=MovementKind.MIX)
    later = _key(moves.exclude(kind=MovementKind.MIX), "move", "happened_at")
    keys: QuerySet[Any] = later.union(
        *others, _key(mixed, "move", "happened_at", is_first=True), all=True
    )
    return keys.order_by("-when", "is_first", "-key", "what")


def _key(rows: QuerySet[Any], kind: str, when: str, *, is_first: bool = False) -> QuerySet[Any]:
    """``is_first``: before all else of the same minute, for a bottle is used once it is mixed."""
    marked: QuerySet[Any] = rows.order_by().annotate(
        what=Value(kind, output_field=CharField()),
        key=F("pk"),
        when=F(when),
        is_first=Value(is_first),
    )
    return marked.values_list("what", "key", "when", "is_first")


def _events(keys: Sequence[tuple[str, int, datetime]], reader: Member) -> list[Event]:
    wanted: dict[str, list[int]] = {}
    for what, key, _ in keys:
        wanted.setdefault("use" if what == "void" else what, []).append(key)
    stops = wanted.get("stop", []) + wanted.get("release", [])
    told: dict[tuple[str, int], Event] = {
        **_told("move", _moves(wanted.get("move", []))),
        **_told("use", _uses(wanted.get("use", []), reader)),
        **_told("void", _voids(wanted.get("use", []), reader)),
        **_told("stop", _stops(stops)),
        **_told("release", _releases(stops)),
    }
    return [told[what, key] for what, key, _ in keys]


def _told(what: str, events: Mapping[int, Event]) -> dict[tuple[str, int], Event]:
    return {(what, key): event for key, event in events.items()}


def _moves(keys: Iterable[int]) -> dict[int, Event]:
    rows = Movement.objects.filter(pk__in=keys).select_related("by", "target", "source")
    return {row.pk: Event(row.happened_at, _move_says(row), _name(row.by)) for row in rows}


def _move_says(move: Movement) -> str:
    """Bottles lose to what is not a bottle, save where one is poured into another."""
    kind, ml = MovementKind(move.kind), ml_text(move.quantity)
    gains = move.target.batch_id is not None and kind in GAINED
    words = (GAINED if gains else LOST).get(kind, f"{kind.label}: {{ml}}").format(ml=ml)
    return f"{words} ({move.reason})" if move.reason else words


def _uses(keys: Iterable[int], reader: Member) -> dict[int, Event]:
    rows = Use.objects.filter(pk__in=keys, voids__isnull=True).select_related(
        "run_bath__run__format", "run_bath__run__film", "run_bath__run__member", "voided_by"
    )
    return {row.pk: _use_event(row, reader) for row in rows}


def _use_event(use: Use, reader: Member) -> Event:
    undone = ", voided since" if hasattr(use, "voided_by") else ""
    if not hasattr(use, "run_bath"):
        return Event(use.happened_at, f"Used{undone}")
    run = use.run_bath.run
    is_open = reader.may_audit or run.member_id == reader.pk
    return Event(
        use.happened_at,
        f"{run}{undone}",
        run.member.name if is_open else "",
        reverse("sessions:run", args=[run.code]) if is_open else "",
    )


def _voids(keys: Iterable[int], reader: Member) -> dict[int, Event]:
    rows = Use.objects.filter(pk__in=keys, voids__isnull=False).select_related(
        "by",
        "voids__run_bath__run__format",
        "voids__run_bath__run__film",
        "voids__run_bath__run__member",
    )
    return {
        row.pk: Event(
            row.entered_at,
            f"Voided: {_use_event(row.voids, reader).says.removesuffix(', voided since')}",
            row.by.name if reader.may_audit or row.by_id == reader.pk else "",
        )
        for row in rows
        if row.voids is not None
    }


def _stops(keys: Iterable[int]) -> dict[int, Event]:
    rows = BatchStop.objects.filter(pk__in=keys).select_related("stopped_by")
    return {
        row.pk: Event(row.stopped_at, f"Stopped: {row.seen}", _name(row.stopped_by)) for row in rows
    }


def _releases(keys: Iterable[int]) -> dict[int, Event]:
    rows = BatchStop.objects.filter(pk__in=keys, released_at__isnull=False)
    return {
        row.pk: Event(row.released_at, f"Released: {row.release_reason}", _name(row.released_by))
        for row in rows.select_related("released_by")
        if row.released_at is not None
    }


def _name(member: Member | None) -> str:
    return "the house" if member is None else member.name
