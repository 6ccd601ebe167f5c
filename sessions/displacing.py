"""What becomes of the sessions that keep a piece when it goes out of service, and comes back.

1. Where any piece of the kind would do, another that is free for all that is left is kept instead.
2. A session for which there is none loses what falls within the time out. It still needs it, and
   shows so until it is moved, cancelled or over.
3. When the piece comes back early, whoever lost it and still needs it has it again.

The caller holds the locks: an equipment's row is the mutex of its holds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from psycopg.types.range import TimestamptzRange

from darkroom.models import Equipment
from sessions.models import Hold, Session
from sessions.models.sessions import HoldQuerySet
from sessions.pieces import KINDS
from sessions.planning import slots
from sessions.planning.localtime import epoch_s

Time = tuple[datetime, datetime | None]
"""From when on, until when; None: until further notice."""


@dataclass(frozen=True)
class Displaced:
    """Who was given another piece, and who has none now; by the start of the session."""

    moved: list[tuple[Session, Equipment]] = field(default_factory=list)
    let_down: list[Session] = field(default_factory=list)


def hit(piece: Equipment, out: Time) -> list[Session]:
    """The sessions that keep the piece at any time of it, soonest first."""
    holds = Hold.objects.live().overlapping(*out).filter(equipment=piece)
    visits = Session.objects.filter(pk__in=holds.values("session"))
    return list(visits.select_related("member", "vessel").order_by("starts_at", "pk"))


def lock(piece: Equipment) -> list[Equipment]:
    """The piece, and what could stand in for it, as they are now, locked in the order of ids."""
    rows = Equipment.objects.filter(pk=piece.pk)
    if piece.kind in KINDS.values():
        rows = rows | Equipment.objects.filter(kind=piece.kind)
    return list(rows.order_by("pk").select_for_update(no_key=True))


def displace(
    piece: Equipment, others: Iterable[Equipment], out: Time, *, at: datetime
) -> Displaced:
    """Free the piece for the time out. ``others``: what could stand in for it."""
    visits = hit(piece, out)
    left = _left_by_session(piece, visits, at)
    ready = [other for other in others if other.pk != piece.pk and other.is_in_service]
    busy = _busy(ready, [hold for holds in left.values() for hold in holds])
    found = Displaced()
    for visit in visits:
        spans = [_span(hold, at) for hold in left[visit.pk]]
        other = next((o for o in ready if slots.is_free(busy[o.pk], 0, spans)), None)
        if other is None:
            _let_down(piece, visit, out, at)
            found.let_down.append(visit)
        else:
            busy[other.pk] += spans
            _keep_instead(left[visit.pk], other, at)
            found.moved.append((visit, other))
    return found


def lost(piece: Equipment, out: Time, *, at: datetime) -> list[Session]:
    """The sessions that lost the piece in that time and still need it, by id."""
    holds = _lost_holds(piece, out, at)
    return list(Session.objects.filter(pk__in=holds.values("session")).order_by("pk"))


def give_back(piece: Equipment, out: Time, *, at: datetime) -> list[Session]:
    """The same, as far as they have it again; those are locked, like the piece."""
    by_session: dict[int, list[Hold]] = defaultdict(list)
    for hold in _lost_holds(piece, out, at).order_by("session", "period"):
        by_session[_session_id(hold)].append(hold)
    busy = _busy([piece], [hold for holds in by_session.values() for hold in holds])[piece.pk]
    served: list[int] = []
    for pk, holds in by_session.items():
        spans = [_span(hold, at) for hold in holds]
        if slots.is_free(busy, 0, spans):
            busy += spans
            _insert_again(holds, piece, at)
            Hold.objects.filter(pk__in=[hold.pk for hold in holds]).update(is_let_down=False)
            served.append(pk)
    visits = Session.objects.filter(pk__in=served)
    return list(visits.select_related("member", "vessel").order_by("starts_at", "pk"))


def _left_by_session(
    piece: Equipment, visits: Sequence[Session], at: datetime
) -> dict[int, list[Hold]]:
    """All that these sessions keep the piece for from now on: it is the same one throughout."""
    holds = Hold.objects.live().filter(equipment=piece, session__in=visits)
    left: dict[int, list[Hold]] = defaultdict(list)
    for hold in holds.filter(period__endswith__gt=at).order_by("period"):
        left[_session_id(hold)].append(hold)
    return left


def _lost_holds(piece: Equipment, out: Time, at: datetime) -> HoldQuerySet:
    return Hold.objects.overlapping(*out).filter(
        equipment=piece,
        is_let_down=True,
        period__endswith__gt=at,
        session__cancelled_at=None,
        session__ended_at=None,
    )


def _session_id(hold: Hold) -> int:
    assert hold.session_id is not None, "a session's hold"
    return hold.session_id


def _busy(pieces: Iterable[Equipment], for_holds: Sequence[Hold]) -> dict[int, list[slots.Range]]:
    """What is kept already of each piece while any of these holds lasts."""
    busy: dict[int, list[slots.Range]] = {piece.pk: [] for piece in pieces}
    if not for_holds:
        return busy
    low = min(hold.period.lower for hold in for_holds)
    high = max(hold.period.upper for hold in for_holds)
    kept = Hold.objects.live().overlapping(low, high).filter(equipment__in=busy)
    for pk, period in kept.values_list("equipment", "period"):
        busy[pk].append((epoch_s(period.lower), epoch_s(period.upper)))
    return busy


def _span(hold: Hold, at: datetime) -> slots.Range:
    return epoch_s(max(hold.period.lower, at)), epoch_s(hold.period.upper)


def _let_down(piece: Equipment, visit: Session, out: Time, at: datetime) -> None:
    """What hangs or stands there after a session has ended is no longer waited for."""
    holds = Hold.objects.live().overlapping(*out).filter(equipment=piece, session=visit)
    holds.update(released_at=at, is_let_down=visit.is_open())


def _keep_instead(holds: Sequence[Hold], other: Equipment, at: datetime) -> None:
    Hold.objects.filter(pk__in=[hold.pk for hold in holds]).update(released_at=at)
    _insert_again(holds, other, at)


def _insert_again(holds: Sequence[Hold], piece: Equipment, at: datetime) -> None:
    """New rows, never the old ones: what was released stays so."""
    Hold.objects.bulk_create(
        Hold(
            session_id=hold.session_id,
            equipment=piece,
            phase=hold.phase,
            period=TimestamptzRange(max(hold.period.lower, at), hold.period.upper),
        )
        for hold in holds
    )
