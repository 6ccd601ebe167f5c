"""Between the clock on the wall and the instants that everything else is reckoned in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

Seconds = tuple[int, int]
"""Half-open, in whole seconds since the epoch."""


@dataclass(frozen=True, slots=True)
class Hours:
    """A house's week by ``date.weekday()``, and the dates on which it is closed, with the reason.

    A weekday that is not in the week is closed.
    """

    week: Mapping[int, tuple[time, time]]
    closed: Mapping[date, str] = field(default_factory=dict)

    def on(self, day: date) -> tuple[time, time] | None:
        """From when to when the wall's clock shows it open that day; None: not at all."""
        return None if day in self.closed else self.week.get(day.weekday())


def instants(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, ...]:
    """Every instant, in UTC and in order, at which the wall shows this time on this day.

    None when the clocks are put forward over it, two when they are put back over it.
    """
    wall = datetime.combine(day, clock.replace(tzinfo=None))
    found = {wall.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)}
    return tuple(sorted(at for at in found if at.astimezone(zone).replace(tzinfo=None) == wall))


def opening_s(day: date, opens_at: time, closes_at: time, zone: ZoneInfo) -> Seconds:
    """From opening to closing on one day; empty when the clocks swallow all of it.

    Of a double time the earlier opens and the later closes. A time that does not exist opens
    after the gap and closes before it.
    """
    opens = datetime.combine(day, opens_at, zone).astimezone(UTC)
    closes = datetime.combine(day, closes_at, zone).replace(fold=1).astimezone(UTC)
    return epoch_s(opens), max(epoch_s(opens), epoch_s(closes))


def openings_s(hours: Hours, first: date, days: int, zone: ZoneInfo) -> list[Seconds]:
    """When the house is open on ``days`` days from ``first`` on, in order; never for no time."""
    dates = (first + timedelta(days=n) for n in range(days))
    open_on = ((day, hours.on(day)) for day in dates)
    spans = (opening_s(day, *clock, zone) for day, clock in open_on if clock is not None)
    return [span for span in spans if span[0] < span[1]]


def epoch_s(at: datetime) -> int:
    """Whole seconds since the epoch, a fraction dropped."""
    return int(at.timestamp() // 1)


def from_epoch(seconds: int) -> datetime:
    """The instant, in UTC."""
    return datetime.fromtimestamp(seconds, tz=UTC)
