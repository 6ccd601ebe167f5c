"""Which pieces of equipment are free when, and which of them a session keeps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection
from psycopg.types.range import TimestamptzRange

from darkroom.errors import DomainError, translate_integrity
from darkroom.models import Equipment, EquipmentKind
from sessions.models import Hold, Session
from sessions.planning import slots
from sessions.planning.localtime import epoch_s, from_epoch
from sessions.planning.timeline import BATH, BOOTH, PEGS, SINK, Need

KINDS = {
    BATH: EquipmentKind.BATH,
    BOOTH: EquipmentKind.BOOTH,
    SINK: EquipmentKind.SINK,
    PEGS: EquipmentKind.PEGS,
}

FREE_SQL = """
    SELECT piece.id, extract(epoch FROM lower(span))::bigint,
        extract(epoch FROM upper(span))::bigint
    FROM unnest(%(ids)s::int[]) AS piece(id)
    CROSS JOIN LATERAL unnest(
        tstzmultirange(tstzrange(to_timestamp(%(low)s), to_timestamp(%(high)s)))
        - coalesce(
            (SELECT range_agg(hold.period) FROM bookings_hold AS hold
             WHERE hold.equipment_id = piece.id AND hold.released_at IS NULL
               AND (hold.session_id <> %(ignoring)s) IS NOT FALSE
               AND hold.period && tstzrange(to_timestamp(%(low)s), to_timestamp(%(high)s))),
            '{}'::tstzmultirange)
    ) AS span
    ORDER BY 1, 2
"""


class SlotTaken(DomainError):
    """Something the session needs is kept for somebody else at that time."""

    code = "slot_taken"
    status = 409


@dataclass(frozen=True, slots=True)
class Kept:
    """A need with the piece that serves it."""

    need: Need
    equipment_id: int


def free_ranges(
    equipment_ids: Collection[int], low_s: int, high_s: int, *, ignoring: int | None = None
) -> dict[int, list[slots.Range]]:
    """The free time of each piece between two moments, in whole seconds, in one query.

    ``ignoring`` is a session whose own holds do not count.
    """
    free: dict[int, list[slots.Range]] = {pk: [] for pk in equipment_ids}
    given: dict[str, list[int] | int | None] = {
        "ids": list(equipment_ids),
        "low": low_s,
        "high": high_s,
        "ignoring": ignoring,
    }
    with connection.cursor() as cursor:
        cursor.execute(FREE_SQL, given)
        for pk, low, high in cursor.fetchall():
            free[pk].append((low, high))
    return free


def candidates(needs: Iterable[Need], pieces: Iterable[Equipment]) -> list[tuple[Need, list[int]]]:
    """Each need with the pieces in service that may serve it, in the order of their ids."""
    ready = sorted((piece for piece in pieces if piece.is_in_service), key=lambda p: p.pk)
    return [(need, [piece.pk for piece in ready if _may_serve(piece, need)]) for need in needs]


def _may_serve(piece: Equipment, need: Need) -> bool:
    return piece.kind == KINDS[need.kind] if need.piece is None else piece.pk == need.piece


def lock_candidates(
    needs: Collection[Need], also: Collection[int] = ()
) -> list[tuple[Need, list[int]]]:
    """The same, locked until the operation ends; ``also`` are pieces held so far."""
    kinds = [KINDS[need.kind] for need in needs if need.piece is None]
    named = {need.piece for need in needs if need.piece is not None}
    rows = Equipment.objects.filter(kind__in=kinds) | Equipment.objects.filter(
        pk__in={*named, *also}
    )
    return candidates(needs, rows.order_by("pk").select_for_update(no_key=True))


def choose(
    wanted: Iterable[tuple[Need, list[int]]], starts_at: datetime, *, ignoring: int | None = None
) -> list[Kept]:
    """For each need the first piece that is free for all of it.

    ``ignoring`` is a session whose own holds do not count.  Raises: SlotTaken.
    """
    wanted, at = list(wanted), epoch_s(starts_at)
    last_s = max(span.ends_s for need, _ in wanted for span in need.spans)
    busy = _busy({pk for _, ids in wanted for pk in ids}, at, last_s, ignoring)
    return [Kept(need, _first_free(need, ids, busy, at)) for need, ids in wanted]


def insert_holds(visit: Session, kept: Iterable[Kept]) -> None:
    """All holds in one statement, by equipment; the database has the last word on each."""
    holds = [
        Hold(
            session=visit,
            equipment_id=one.equipment_id,
            phase=span.phase,
            period=TimestamptzRange(
                visit.starts_at + timedelta(seconds=span.starts_s),
                visit.starts_at + timedelta(seconds=span.ends_s),
            ),
        )
        for one in sorted(kept, key=lambda one: one.equipment_id)
        for span in one.need.spans
    ]
    with translate_integrity({"hold_no_overlap": taken()}):
        Hold.objects.bulk_create(holds)


def taken() -> SlotTaken:
    return SlotTaken(
        "Something you need is kept for somebody else at that time. "
        "Nothing has changed; the starts that are free now are below.",
        field="start",
    )


def _first_free(
    need: Need, ids: Iterable[int], busy: Mapping[int, list[slots.Range]], at: int
) -> int:
    for pk in ids:
        if slots.is_free(busy.get(pk, ()), at, need.stretches):
            return pk
    raise taken()


def _busy(
    ids: set[int], at: int, last_s: int, ignoring: int | None
) -> dict[int, list[slots.Range]]:
    window = (from_epoch(at), from_epoch(at + last_s))
    rows = Hold.objects.live().overlapping(*window).filter(equipment__in=ids)
    busy: dict[int, list[slots.Range]] = defaultdict(list)
    for pk, session, period in rows.values_list("equipment", "session", "period"):
        if session is None or session != ignoring:
            busy[pk].append((epoch_s(period.lower), epoch_s(period.upper)))
    return busy
