"""Calendars as calendar programs read them (RFC 5545, names by RFC 7986).

All instants are written in UTC: nothing here recurs, so no clock change can shift it, and of the
hour that comes twice in autumn a local time could only name the first. The house's zone goes
along as the one to show the calendar in. There are no alarms: each program has its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event
from icalendar.enums import STATUS, TRANSP

PRODID = "-//Wetside//Calendars//EN"
REFRESH = timedelta(hours=1)


@dataclass(frozen=True)
class Entry:
    """One event. ``sequence`` rises with each change, ``uid`` outlives them all."""

    uid: str
    sequence: int
    starts_at: datetime
    ends_at: datetime
    created_at: datetime
    changed_at: datetime
    summary: str
    description: str = ""
    url: str = ""
    is_cancelled: bool = False


def written(entries: Iterable[Entry], *, uid: str, name: str, zone: str, location: str) -> bytes:
    """The calendar as a file; the same entries make the same bytes."""
    calendar = Calendar.new(prodid=PRODID, uid=uid, name=name, refresh_interval=REFRESH)
    calendar.add("x-wr-timezone", zone)
    for entry in entries:
        calendar.add_component(_event(entry, location))
    file: bytes = calendar.to_ical()
    return file


def _event(entry: Entry, location: str) -> Event:
    changed_at = entry.changed_at.astimezone(UTC)
    return Event.new(
        uid=entry.uid,
        sequence=entry.sequence,
        start=entry.starts_at.astimezone(UTC),
        end=entry.ends_at.astimezone(UTC),
        created=entry.created_at.astimezone(UTC),
        last_modified=changed_at,
        stamp=changed_at,
        summary=entry.summary,
        description=entry.description or None,
        location=location,
        url=entry.url or None,
        status=STATUS.CANCELLED if entry.is_cancelled else STATUS.CONFIRMED,
        transparency=TRANSP.TRANSPARENT if entry.is_cancelled else TRANSP.OPAQUE,
    )
