"""When a session may start: not in the past, not too far ahead, within the house's hours."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from darkroom.errors import DomainError
from darkroom.models import HouseRules
from sessions.planning.localtime import Seconds, epoch_s, from_epoch, opening_s, openings_s
from sessions.planning.timeline import HouseMinutes, Timeline


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
    opens, closes = opening_s(day, rules.opens_at, rules.closes_at, rules.tz)
    begins = epoch_s(starts_at)
    if begins < opens or begins + line.attended_s > closes:
        raise StartRefused("closed", _closed_sentence(line, (opens, closes), rules))


def openings(rules: HouseRules, first: date, days: int) -> list[Seconds]:
    """Opening hours of the days from ``first`` on."""
    return openings_s(first, days, rules.opens_at, rules.closes_at, rules.tz)


def last_day(rules: HouseRules, *, at: datetime) -> date:
    """The last day on which a session may start."""
    return at.astimezone(rules.tz).date() + timedelta(days=rules.booking_days_ahead)


def house_minutes(rules: HouseRules) -> HouseMinutes:
    return HouseMinutes(rules.loading_min, rules.cleaning_min, rules.drying_min)


def _closed_sentence(line: Timeline, opening: Seconds, rules: HouseRules) -> str:
    opens, closes = opening
    hours = f"The house is open from {rules.opens_at:%H:%M} to {rules.closes_at:%H:%M}"
    latest = closes - line.attended_s
    if latest < opens:
        return f"{hours}: too short for a session of {line.attended_min} minutes. Try fewer sheets."
    last = from_epoch(latest).astimezone(rules.tz)
    return (
        f"{hours}, and this takes {line.attended_min} minutes: start by {last:%H:%M} at the latest."
    )
