"""The day strip: one lane per piece of equipment, phases as blocks along the hours."""

from collections.abc import Iterable
from dataclasses import dataclass
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
AXIS_PX = 24


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
    name: str
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
    lanes: tuple[StripLane, ...]
    hours: tuple[Hour, ...]
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

    @property
    def down_px(self) -> float:
        return _elapsed(self.opens_at, self.closes_at) / 3600 * HOUR_PX


def day_strip(
    lanes: Iterable[Lane], *, opens_at: datetime, closes_at: datetime, now: datetime | None = None
) -> Strip:
    """The strip from opening to closing; phases are cut at both ends, those outside left out.

    Units: aware instants; labels are in the zone of ``opens_at``.
    Raises: ValueError when the day closes before it opens.
    """
    if _elapsed(opens_at, closes_at) <= 0:
        raise ValueError(f"closes {closes_at} before it opens {opens_at}")
    day, rows = _Day(opens_at, closes_at), tuple(lanes)
    now_share = None if now is None else day.share(now)
    if now_share is not None and not 0 <= now_share <= 1:
        now_share = None
    drawn = tuple(_lane(lane, i, len(rows), day) for i, lane in enumerate(rows))
    shown = {block.phase.kind for lane in drawn for block in lane.blocks}
    return Strip(
        lanes=drawn,
        hours=_hours(day, now_share),
        now_pct=None if now_share is None else round(100 * now_share, 3),
        now_px=None if now_share is None else round(AXIS_PX + now_share * day.down_px, 1),
        now_label="" if now is None else f"{now.astimezone(opens_at.tzinfo):%H:%M}",
        kinds=tuple((kind, word) for kind, word in PHASE_WORDS.items() if kind in shown),
        across_px=AXIS_PX + LANE_PX * len(rows),
        down_px=round(AXIS_PX + day.down_px) + 8,
        wide_px=104 * len(rows),
    )


def _lane(lane: Lane, index: int, count: int, day: _Day) -> StripLane:
    shown = (p for p in lane.phases if p.starts_at < day.closes_at and p.ends_at > day.opens_at)
    return StripLane(
        name=lane.name,
        url=lane.url,
        y_px=AXIS_PX + LANE_PX * index,
        x_pct=round(100 * index / count, 3),
        wide_pct=round(100 / count, 3),
        blocks=tuple(_block(phase, day) for phase in shown),
    )


def _block(phase: Phase, day: _Day) -> Block:
    start = max(0.0, day.share(phase.starts_at))
    long = min(1.0, day.share(phase.ends_at)) - start
    return Block(
        phase=phase,
        at_pct=round(100 * start, 3),
        long_pct=round(100 * long, 3),
        at_px=round(AXIS_PX + start * day.down_px, 1),
        long_px=round(long * day.down_px, 1),
        word=PHASE_WORDS[phase.kind],
    )


def _hours(day: _Day, now_share: float | None) -> tuple[Hour, ...]:
    """The full hours; the label that the time of now would touch stays away."""
    zone = day.opens_at.tzinfo
    first = day.opens_at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    count = int(_elapsed(first, day.closes_at) // 3600) + 1
    instants = (first + timedelta(hours=n) for n in range(count))
    return tuple(
        Hour(
            at_pct=round(100 * day.share(at), 3),
            at_px=round(AXIS_PX + day.share(at) * day.down_px, 1),
            label="" if _touches(day.share(at), now_share) else f"{at.astimezone(zone):%H}",
        )
        for at in instants
        if 0 <= day.share(at) <= 1
    )


def _touches(share: float, now_share: float | None) -> bool:
    return now_share is not None and abs(share - now_share) < 0.025


def _elapsed(start: datetime, end: datetime) -> float:
    return (end.astimezone(UTC) - start.astimezone(UTC)).total_seconds()
