"""Keeping time: age adds up over the ways a bottle has been stored."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from chemistry.science.errors import OutOfRange, check_positive, check_range

US_PER_DAY = 86_400_000_000
OUT_OF_DATE = Decimal(1)


class UnknownStorage(ValueError):
    """The recipe gives no keeping time for this state of storage."""

    def __init__(self, state: str) -> None:
        super().__init__(state)
        self.state = state


@dataclass(frozen=True, slots=True)
class Interval:
    """The bottle stood in one state of storage, from and until."""

    state: str
    starts_at: datetime
    ends_at: datetime

    @property
    def days(self) -> Decimal:
        return Decimal((self.ends_at - self.starts_at) // timedelta(microseconds=1)) / US_PER_DAY


def age_used(intervals: Iterable[Interval], lives: Mapping[str, Decimal]) -> Decimal:
    """Share of its keeping time that a solution has used up; from 1 on it is out of date.

    Units: days for the lives.  Domain: no interval runs backwards, every life above zero.
    Raises: UnknownStorage, OutOfRange.
    Source: linear accumulation, as for any shelf life given for a constant state.
    """
    used = Decimal(0)
    for interval in intervals:
        check_range("days", interval.days, 0)
        used += interval.days * rate_per_day(lives, interval.state)
    return used


def rate_per_day(lives: Mapping[str, Decimal], state: str) -> Decimal:
    """Share of keeping time that a day in this state uses up.

    Units: days in, 1/day out.  Raises: UnknownStorage, OutOfRange.
    """
    if state not in lives:
        raise UnknownStorage(state)
    check_positive("life_days", lives[state])
    return 1 / lives[state]


def good_until(now: datetime, used: Decimal, rate: Decimal) -> datetime:
    """The instant at which the solution goes out of date if it stays as it is stored now.

    ``now`` itself when it already is: when it did depends on the states before.
    Units: rate in 1/day.  Domain: used >= 0, rate > 0.  Raises: OutOfRange.
    """
    check_range("used", used, 0)
    check_positive("rate", rate)
    left_us = max(Decimal(0), OUT_OF_DATE - used) / rate * US_PER_DAY
    try:
        return now + timedelta(microseconds=int(left_us.to_integral_value()))
    except OverflowError as error:
        raise OutOfRange("rate", rate, None, None) from error
