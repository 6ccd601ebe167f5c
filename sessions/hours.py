"""When a session may start: not in the past, not too far ahead, while the house is open."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from darkroom.errors import DomainError
from darkroom.models import ClosedDate, HouseRules, OpeningHours
from sessions.planning.localtime import Hours, Seconds, epoch_s, from_epoch, openings_s
from sessions.planning.timeline import HouseMinutes, Timeline

SOON_DAYS = 15
"""How far a refusal looks for the next day that is open, counting the one it refuses."""


class StartRefused(DomainError):
    """Nobody could be in the house for the whole session from that start on.

    Codes: ``past``, ``too_far``, ``closed``, ``odd_start``.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message, field="start")
        self.code = code


def check_start(line: Timeline, starts_at: datetime, *, rules: HouseRules, at: datetime) -> None:
    """Raises: StartRefused.  Drying may run past closing time: nobody has to be there for it."""
    if starts_at.second or starts_at.microsecond:
        raise StartRefused("odd_start", "A session starts on a full minute.")
    if starts_at < at:
        raise StartRefused("past", "That moment has passed; choose a later start.")
    day, last = starts_at.astimezone(rules.tz).date(), last_day(rules, at=at)
    if day > last:
        raise StartRefused(
            "too_far", f"Sessions can be booked until {last:%A %-d %B %Y}, not further ahead."
        )
    hours = house_hours(day, SOON_DAYS)
    clock, today = hours.on(day), openings_s(hours, day, 1, rules.tz)
    if clock is None or not today:
        raise StartRefused("closed", f"{closed_sentence(hours, day)} {_next(hours, day, rules)}")
    (opens, closes), begins = today[0], epoch_s(starts_at)
    if begins < opens or begins + line.attended_s > closes:
        raise StartRefused("closed", _outside_sentence(line, today[0], clock, rules))


def house_hours(first: date, days: int) -> Hours:
    """The week, and what is closed on the ``days`` days from ``first`` on; two queries."""
    rows = OpeningHours.objects.values_list("weekday", "opens_at", "closes_at")
    span = (first, first + timedelta(days=days - 1))
    closed = ClosedDate.objects.filter(date__range=span).values_list("date", "reason")
    return Hours({day: (opens, closes) for day, opens, closes in rows}, dict(closed))


def openings(rules: HouseRules, first: date, days: int) -> list[Seconds]:
    """Opening hours of the days from ``first`` on, of those that have any."""
    return openings_s(house_hours(first, days), first, days, rules.tz)


def closed_sentence(hours: Hours, day: date) -> str:
    """Why nobody can come on a day without opening hours."""
    if day in hours.closed:
        return f"The house is closed on {day:%A %-d %B}: {hours.closed[day].rstrip('.')}."
    if day.weekday() not in hours.week:
        return f"The house is closed on {day:%A}s."
    return f"The house is closed on {day:%A %-d %B}."


def last_day(rules: HouseRules, *, at: datetime) -> date:
    """The last day on which a session may start."""
    return at.astimezone(rules.tz).date() + timedelta(days=rules.booking_days_ahead)


def house_minutes(rules: HouseRules) -> HouseMinutes:
    return HouseMinutes(rules.loading_min, rules.cleaning_min, rules.drying_min)


def _next(hours: Hours, day: date, rules: HouseRules) -> str:
    """When it opens again, as a sentence."""
    after = openings_s(hours, day + timedelta(days=1), SOON_DAYS - 1, rules.tz)
    if not after:
        return f"Nor is it open in the {SOON_DAYS - 1} days after."
    opens = from_epoch(after[0][0]).astimezone(rules.tz)
    return f"It opens next on {opens:%A %-d %B at %H:%M}."


def _outside_sentence(
    line: Timeline, opening: Seconds, clock: tuple[time, time], rules: HouseRules
) -> str:
    opens, closes = opening
    hours = "The house is open from {:%H:%M} to {:%H:%M}".format(*clock)
    latest = closes - line.attended_s
    if latest < opens:
        return f"{hours}: too short for a session of {line.attended_min} minutes. Try fewer sheets."
    last = from_epoch(latest).astimezone(rules.tz)
    return (
        f"{hours}, and this takes {line.attended_min} minutes: start by {last:%H:%M} at the latest."
    )
