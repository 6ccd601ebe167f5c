"""The day strip: one lane per piece of equipment, phases as blocks along the hours."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

PHASE_WORDS = {
    "warm": "Warm-up",
    "dark": "Dark",
    "wet": "Wet",
    "wash": "Wash",
    "dry": "Dry",
    "closed": "Out of use",
    "free": "Free",
}
HOUR_PX = 64
LANE_PX = 60
LANE_WIDE_PX = 104
AXIS_PX = 24
LABEL_S = 20 * 60


@dataclass(frozen=True)
class Phase:
    """What a piece of equipment is kept for. ``kind`` is a key of ``PHASE_WORDS``."""

    kind: str
    starts_at: datetime
    ends_at: datetime
    says: str = ""
    url: str = ""
    is_mine: bool = False


@dataclass(frozen=True)
class Lane:
    name: str
    phases: tuple[Phase, ...] = ()
    url: str = ""


@dataclass(frozen=True)
class Block:
    """A phase with its place: per cent of the strip's length, and pixels down a phone."""

    phase: Phase
    at_pct: float
    long_pct: float
    at_px: float
    long_px: float
    word: str


@dataclass(frozen=True)
class StripLane:
    """``code`` is the first word of the name, for want of room down a phone."""

    name: str
    code: str
    url: str
    y_px: int
    x_pct: float
    wide_pct: float
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Hour:
    at_pct: float
    at_px: float
    label: str


@dataclass(frozen=True)
class Strip:
    """Across it shows the whole day, down a phone the hours in which something is kept."""

    lanes: tuple[StripLane, ...]
    hours: tuple[Hour, ...]
    hours_down: tuple[Hour, ...]
    now_pct: float | None
    now_px: float | None
    now_label: str
    kinds: tuple[tuple[str, str], ...]
    across_px: int
    down_px: int
    wide_px: int


@dataclass(frozen=True)
class _Day:
    opens_at: datetime
    closes_at: datetime

    def share(self, at: datetime) -> float:
        """Where ``at`` lies between opening (0) and closing (1), in elapsed time.

        Two instants of one zone subtract as wall clocks, which is wrong by an hour on two days
        of the year; hence the step through UTC.
        """
        return _elapsed(self.opens_at, at) / _elapsed(self.opens_at, self.closes_at)

    def px(self, at: datetime) -> float:
        return round(AXIS_PX + _elapsed(self.opens_at, at) / 3600 * HOUR_PX, 1)

    def holds(self, at: datetime) -> bool:
        return 0 <= self.share(at) <= 1

    def cut(self, at: datetime) -> datetime:
        return min(max(at, self.opens_at), self.closes_at)

    def around(self, phases: Iterable[Phase]) -> _Day:
        """From the full hour before the first of the phases to that after the last."""
        shown = [(self.cut(p.starts_at), self.cut(p.ends_at)) for p in phases]
        if not shown:
            return self
        first = _full_hour(min(start for start, _ in shown))
        last = _full_hour(max(end for _, end in shown) + timedelta(minutes=59))
        return _Day(self.cut(first), self.cut(last))


def day_strip(
    lanes: Iterable[Lane], *, opens_at: datetime, closes_at: datetime, now: datetime | None = None
) -> Strip:
    """The strip from opening to closing; phases are cut at both ends, those outside left out.

    Units: aware instants; labels are in the zone of ``opens_at``.
    Raises: ValueError when the day closes before it opens.
    """
    if _elapsed(opens_at, closes_at) <= 0:
        raise ValueError(f"closes {closes_at} before it opens {opens_at}")
    day = _Day(opens_at, closes_at)
    rows = [replace(lane, phases=tuple(_shown(lane, day))) for lane in lanes]
    down = day.around(phase for lane in rows for phase in lane.phases)
    drawn = tuple(_lane(lane, i, len(rows), day, down) for i, lane in enumerate(rows))
    kinds = {block.phase.kind for lane in drawn for block in lane.blocks}
    is_on = now is not None and day.holds(now)
    return Strip(
        lanes=drawn,
        hours=_hours(day, day, now),
        hours_down=_hours(down, day, now),
        now_pct=round(100 * day.share(now), 3) if now and is_on else None,
        now_px=down.px(now) if now and down.holds(now) else None,
        now_label="" if now is None else f"{now.astimezone(opens_at.tzinfo):%H:%M}",
        kinds=tuple((kind, word) for kind, word in PHASE_WORDS.items() if kind in kinds),
        across_px=AXIS_PX + LANE_PX * len(rows),
        down_px=round(down.px(down.closes_at)) + 8,
        wide_px=LANE_WIDE_PX * len(rows),
    )


def _shown(lane: Lane, day: _Day) -> Iterator[Phase]:
    return (p for p in lane.phases if p.starts_at < day.closes_at and p.ends_at > day.opens_at)


def _lane(lane: Lane, index: int, count: int, day: _Day, down: _Day) -> StripLane:
    return StripLane(
        name=lane.name,
        code=lane.name.partition(" ")[0],
        url=lane.url,
        y_px=AXIS_PX + LANE_PX * index,
        x_pct=round(100 * index / count, 3),
        wide_pct=round(100 / count, 3),
        blocks=tuple(_block(phase, day, down) for phase in lane.phases),
    )


def _block(phase: Phase, day: _Day, down: _Day) -> Block:
    starts_at, ends_at = day.cut(phase.starts_at), day.cut(phase.ends_at)
    start = day.share(starts_at)
    return Block(
        phase=phase,
        at_pct=round(100 * start, 3),
        long_pct=round(100 * (day.share(ends_at) - start), 3),
        at_px=down.px(starts_at),
        long_px=round(down.px(ends_at) - down.px(starts_at), 1),
        word=PHASE_WORDS[phase.kind],
    )


def _hours(span: _Day, day: _Day, now: datetime | None) -> tuple[Hour, ...]:
    """The full hours of a span; the label that the time of now would touch stays away."""
    zone = day.opens_at.tzinfo
    first = _full_hour(span.opens_at)
    count = int(_elapsed(first, span.closes_at) // 3600) + 1
    instants = (first + timedelta(hours=n) for n in range(count))
    return tuple(
        Hour(
            at_pct=round(100 * day.share(at), 3),
            at_px=span.px(at),
            label="" if _touches(at, now, span) else f"{at.astimezone(zone):%H:%M}",
        )
        for at in instants
        if span.holds(at)
    )


def _full_hour(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)


def _touches(at: datetime, now: datetime | None, span: _Day) -> bool:
    if now is None or not span.holds(now):
        return False
    return abs(span.share(at) - span.share(now)) < 0.03 or abs(_elapsed(at, now)) < LABEL_S


def _elapsed(start: datetime, end: datetime) -> float:
    return (end.astimezone(UTC) - start.astimezone(UTC)).total_seconds()
