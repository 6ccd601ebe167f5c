"""What stands in each calendar: a member's sessions, a piece's holds, all sessions of the house.

1. A calendar reaches back ``REACH``; a cancelled session stays in it as cancelled for as long.
2. A session keeps its UID wherever it is moved. Each move, and cancelling, releases what it held,
   and what was released stays stored: so their number only ever rises, and is the SEQUENCE.
3. The calendar of a piece says for which phase it is in use, and nothing of who, what or which
   session: its UIDs are drawn from the session's code, but do not show it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from itertools import count, groupby
from typing import Any
from uuid import uuid5

from django.db.models import Aggregate, Count, Max, Prefetch, Q, QuerySet

from darkroom.models import Equipment, HouseRules
from sessions import ical
from sessions.ical import Entry
from sessions.models import CalendarFeed, Hold, Session, SessionLine
from sessions.starts import WIDEST_S

REACH = timedelta(days=30)
SUFFIX = "@wetside"

Link = Callable[[str], str]


def calendar_of(feed: CalendarFeed, *, rules: HouseRules, link: Link, at: datetime) -> bytes:
    """The calendar at this feed's address; ``link`` makes a path into an address."""
    if feed.equipment is not None:
        found, title = _entries_of_piece(feed.equipment, at), str(feed.equipment)
    elif feed.kind == CalendarFeed.Kind.HOUSE:
        found, title = _entries(Session.objects.all(), link, at, is_named=True), "All sessions"
    else:
        found, title = _entries(feed.member.visits.all(), link, at), "Sessions"
    return ical.written(
        found,
        uid=f"{feed.token_hash[:32]}{SUFFIX}",
        name=f"{title}, {rules.name}",
        zone=rules.zone,
        location=rules.name,
    )


def _entries(
    visits: QuerySet[Session], link: Link, at: datetime, *, is_named: bool = False
) -> Iterator[Entry]:
    since = at - REACH
    shown = visits.filter(
        Q(cancelled_at__isnull=True, ends_at__gt=since) | Q(cancelled_at__gt=since)
    )
    lines = SessionLine.objects.select_related("film", "format", "vessel").order_by("pk")
    read: QuerySet[Any] = shown.select_related("member", "vessel", "process").prefetch_related(
        Prefetch("lines", lines)
    )
    for visit in read.annotate(**_releases("holds")):
        yield _entry(visit, link, visit.member.name if is_named else "")


def _entry(visit: Any, link: Link, name: str) -> Entry:
    lines = visit.lines.all()
    what = "; ".join(f"{line} at {line.index}" for line in lines)
    vessels = " and ".join(dict.fromkeys(str(line.vessel or visit.vessel) for line in lines))
    return Entry(
        uid=f"{visit.code}{SUFFIX}",
        sequence=visit.released,
        starts_at=visit.starts_at,
        ends_at=visit.ends_at,
        created_at=visit.created_at,
        changed_at=max(filter(None, (visit.created_at, visit.released_last, visit.cancelled_at))),
        summary=": ".join(filter(None, (name, f"{what}, {vessels}"))),
        description=str(visit.process),
        url=link(visit.get_absolute_url()),
        is_cancelled=visit.cancelled_at is not None,
    )


def _entries_of_piece(piece: Equipment, at: datetime) -> Iterator[Entry]:
    since = at - REACH
    # The period is indexed; the session's end keeps all its holds together at the far edge.
    nearby = since - timedelta(seconds=WIDEST_S)
    holds = Hold.objects.live().filter(equipment=piece, period__overlap=(nearby, None))
    read: QuerySet[Any] = holds.filter(session__ends_at__gt=since).select_related("session")
    found = read.annotate(**_releases("session__holds")).order_by("session", "phase", "period")
    for _, of_a_phase in groupby(found, key=lambda hold: (hold.session_id, hold.phase)):
        for number, hold in zip(count(1), of_a_phase):
            yield _entry_of_hold(hold, number)


def _releases(holds: str) -> dict[str, Aggregate]:
    released_at = f"{holds}__released_at"
    return {
        "released": Count(holds, filter=Q(**{f"{released_at}__isnull": False})),
        "released_last": Max(released_at),
    }


def _entry_of_hold(hold: Any, number: int) -> Entry:
    visit = hold.session
    return Entry(
        uid=f"{uuid5(visit.code, f'{hold.equipment_id} {hold.phase} {number}')}{SUFFIX}",
        sequence=hold.released,
        starts_at=hold.period.lower,
        ends_at=hold.period.upper,
        created_at=visit.created_at,
        changed_at=max(filter(None, (visit.created_at, hold.released_last))),
        summary=f"In use: {hold.get_phase_display().lower()}",
    )
