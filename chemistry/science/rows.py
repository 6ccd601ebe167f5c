"""Printed time rows: a time at a temperature comes from its own row or not at all."""

import math
from dataclasses import dataclass

from chemistry.science.errors import OutOfRange, check_range
from chemistry.science.kinetics import Fit, fit_k, time_at_s

SAME_C = 0.05
"""A row printed at one temperature only answers for that temperature, as a thermometer reads."""


class SharedCoefficient(ValueError):
    """A coefficient fitted to one row was offered for another."""

    def __init__(self, row: str, fitted_to: str) -> None:
        super().__init__(row, fitted_to)
        self.row = row
        self.fitted_to = fitted_to


@dataclass(frozen=True, slots=True)
class PrintedRow:
    """One film, developer, dilution, index and agitation: printed °C and minutes."""

    key: str
    times: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        if not self.times:
            raise OutOfRange("times", 0, 1, None)


def row_fit(row: PrintedRow) -> Fit:
    """The row's own coefficient.  Raises: OutOfRange for a row with a single temperature."""
    return fit_k(row.times, row=row.key)


def nearest_printed(row: PrintedRow, actual_c: float) -> tuple[float, float]:
    """The printed temperature and time nearest to ``actual_c``; of two, the cooler.

    Units: °C, min.  Domain: inside the printed range.  Raises: OutOfRange.
    """
    low, high = printed_range_c(row)
    check_range("actual_c", actual_c, low, high)
    return min(row.times, key=lambda printed: (abs(printed[0] - actual_c), printed[0]))


def printed_range_c(row: PrintedRow) -> tuple[float, float]:
    """Lowest and highest printed temperature, a hair wider where only one is printed."""
    temps = [temp_c for temp_c, _ in row.times]
    low, high = min(temps), max(temps)
    return (low - SAME_C, high + SAME_C) if math.isclose(low, high) else (low, high)


def row_time_min(row: PrintedRow, actual_c: float, *, fit: Fit | None = None) -> float:
    """Time at ``actual_c``: the nearest printed time carried over by the row's own k.

    At a printed temperature it is the printed time itself, whatever the fit.
    Units: °C, min.  Domain: inside the printed range.
    Raises: OutOfRange; SharedCoefficient for a fit to any other row.
    Source: exponential fit within a row; on Kodak F-32 (2001) within 5 % and 0.25 min.
    """
    if fit is not None and fit.row != row.key:
        raise SharedCoefficient(row.key, fit.row)
    printed_c, minutes = nearest_printed(row, actual_c)
    low, high = printed_range_c(row)
    if high - low <= 2 * SAME_C + 1e-9:
        return minutes
    own = fit or row_fit(row)
    return time_at_s(minutes, printed_c, actual_c, k_per_c=own.k_per_c, low_c=low, high_c=high)
