"""From stored time rows to those that the sums know."""

from __future__ import annotations

from chemistry.models import TimeRow
from chemistry.science.rows import PrintedRow
from darkroom.templatetags.look import number


def printed_row(row: TimeRow) -> PrintedRow:
    """The row with its printed times; reads its points."""
    times = tuple((float(point.temp_c), float(point.minutes)) for point in row.points.all())
    return PrintedRow(key=str(row.pk), times=times)


def dilution_of(row: TimeRow) -> str:
    return f"1+{number(row.dilution_n)}" if row.dilution_n else "undiluted"
