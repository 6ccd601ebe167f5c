"""Days counted one way throughout: the day it starts is day 0, the last day still counts.

Laws differ in how they count; where a local rule counts otherwise, it goes before this one.
"""

import calendar
from datetime import date, timedelta

from chemistry.science.errors import check_range


def last_day(start: date, *, days: int) -> date:
    """Last day of a period of days, with ``start`` as day 0.

    Domain: days >= 0.  Raises: OutOfRange.
    """
    check_range("days", days, 0)
    return start + timedelta(days=days)


def last_day_of_months(start: date, *, months: int) -> date:
    """Day of the same number so many months on, or the month's last where it has none.

    29 February and twelve months give 28 February.
    Domain: months >= 0.  Raises: OutOfRange.
    """
    check_range("months", months, 0)
    index = start.month - 1 + months
    year, month = start.year + index // 12, index % 12 + 1
    return date(year, month, min(start.day, calendar.monthrange(year, month)[1]))


def days_left(today: date, last: date) -> int:
    """Days from ``today`` to the last day: 0 on it, negative once it is past."""
    return (last - today).days
