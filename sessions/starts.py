"""The free starts of a plan, from what is kept already."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime

from darkroom.models import HouseRules
from sessions import hours, pieces
from sessions.planning import slots
from sessions.planning.localtime import epoch_s, from_epoch
from sessions.planning.timeline import Need, Timeline

DAYS = 14
WIDEST_S = 24 * 3600
"""How far past the last closing a session may keep something: film that hangs overnight."""

Wanted = Sequence[tuple[Need, list[int]]]


class FreeTime:
    """What is free on some days, asked of the database once for any number of plans."""

    def __init__(
        self,
        ids: Collection[int],
        *,
        first: date,
        rules: HouseRules,
        at: datetime,
        ignoring: int | None = None,
    ) -> None:
        last = hours.last_day(rules, at=at)
        days = max(0, min(DAYS, (last - first).days + 1))
        self.openings = hours.openings(rules, first, days)
        self.not_before = epoch_s(at) + 1
        self.free: dict[int, list[slots.Range]] = {}
        if self.openings:
            low, high = self.openings[0][0], self.openings[-1][1] + WIDEST_S
            self.free = pieces.free_ranges(sorted(ids), low, high, ignoring=ignoring)

    def next_stretch(self, piece: int) -> tuple[datetime, datetime] | None:
        """The first time from now on that nobody has the piece and the house is open."""
        since = [(max(low, self.not_before), high) for low, high in self.openings]
        open_then = slots.normal(since)
        found = slots.intersection(self.free.get(piece, ()), open_then)
        return (from_epoch(found[0][0]), from_epoch(found[0][1])) if found else None

    def starts(self, line: Timeline, wanted: Wanted) -> list[datetime]:
        """Every start on the grid, in UTC and in order."""
        found = slots.free_starts(
            [(ids, need.stretches) for need, ids in wanted],
            free=self.free,
            openings=self.openings,
            attended_s=line.attended_s,
            not_before=self.not_before,
        )
        return [from_epoch(start) for start in found]


def later_starts(
    line: Timeline, wanted: Wanted, *, after: datetime, rules: HouseRules, at: datetime
) -> list[datetime]:
    """Free starts after this one, within the days that are shown at once."""
    ids = {pk for _, pks in wanted for pk in pks}
    first = after.astimezone(rules.tz).date()
    free = FreeTime(ids, first=first, rules=rules, at=at)
    return [start for start in free.starts(line, wanted) if start > after]
